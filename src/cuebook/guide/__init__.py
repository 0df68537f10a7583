"""Guiding a set by sound and bar, and timing one by hand: what an athlete uses before and after lifting."""
