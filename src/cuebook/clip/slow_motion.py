"""Whether a clip was captured faster than it is played."""

from __future__ import annotations

import re
from collections.abc import Mapping

from cuebook.errors import ClipError

CAPTURE_RATE_KEYS = ("com.android.capture.fps", "com.apple.quicktime.capture.fps", "capture_fps", "capturefps")
"""Metadata keys under which cameras write the rate at which the pictures were taken."""

CLEARLY_FASTER = 1.5
"""Capture rate over stored rate from which a clip counts as slow motion; rates such as 29.97 and 30 differ by less."""

_RATES_HZ = (5.0, 2000.0)


def rate_in_metadata(*tables: Mapping[str, str]) -> float | None:
    """Return the capture rate in frames per second that the metadata state, None where they do not.

    Parameters
    ----------
    *tables : mapping of str to str
        Metadata of the container and of the picture stream.
    """
    for table in tables:
        for key, text in table.items():
            if key.lower() in CAPTURE_RATE_KEYS and (match := re.search(r"\d+(\.\d+)?", text)):
                rate = float(match.group())
                if _RATES_HZ[0] <= rate <= _RATES_HZ[1]:
                    return rate
    return None


def capture_rate(stated_hz: float | None, written_hz: float | None, *, stored_hz: float) -> tuple[float | None, bool]:
    """Settle the capture rate and whether the clip is slow motion.

    Parameters
    ----------
    stated_hz : float or None
        What the person who filmed says; it wins over the metadata.
    written_hz : float or None
        What the metadata say.
    stored_hz : float
        Rate at which the clip is played.

    Returns
    -------
    capture_rate_hz : float or None
        None where it is not known to differ from the stored rate.
    slow_motion : bool
        Whether it is clearly higher than the stored rate.

    Raises
    ------
    ClipError
        If the stated rate is no frame rate.
    """
    if stated_hz is not None:
        if not _RATES_HZ[0] <= stated_hz <= _RATES_HZ[1]:
            raise ClipError(f"A capture rate of {stated_hz:g} Hz is no camera's: give frames per second, such as 240.")
        return stated_hz, stated_hz > CLEARLY_FASTER * stored_hz
    if written_hz is not None and written_hz > CLEARLY_FASTER * stored_hz:
        return written_hz, True
    return None, False
