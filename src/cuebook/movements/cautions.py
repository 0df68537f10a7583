"""What stands wherever somebody may act on a review: when to stop, whom to ask, what this is not."""

from __future__ import annotations

CAUTION = (
    "Pain ends the set. A review describes what a camera saw; it is no medical advice: "
    "with symptoms or doubts ask a doctor or physiotherapist, and your coach before you change the load."
)
"""One line for the terminal and the foot of a page."""

STOP_AND_GET_HELP: tuple[str, ...] = (
    "pain or pressure in the chest",
    "breathlessness out of proportion",
    "dizziness, faintness, confusion or an unsteady walk",
    "skin that turns pale, bluish or cold and damp",
    "a heart that races or stumbles",
    "a sudden severe headache",
    "new weakness or numbness",
)
"""Signs to stop all training and get help; after the ACSM lists of termination signs, the last two are practice."""

STOP_AND_TELL_THE_COACH: tuple[str, ...] = (
    "sharp pain in a joint, or a pop",
    "pain that grows from repetition to repetition, or is above 5 of 10",
    "swelling, pins and needles",
)
"""Signs to stop the exercise; common practice of the trade."""
