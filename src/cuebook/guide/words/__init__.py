"""Spoken words of the tempo guide, one sound file each."""
