"""The contact sheet: every received clip in a row, one key per decision, the rest scored in the background."""
