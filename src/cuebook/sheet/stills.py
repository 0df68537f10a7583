"""Five small pictures spread over a clip, side by side in one strip."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from cuebook.clip import read_clip
from cuebook.errors import ClipError, OutputError
from cuebook.whole import write_whole

STILLS = 5
HEIGHT_PX = 78
WIDTH_PX = 62
"""Room of one still; a clip of another shape stands in the middle of it."""
_QUALITY = 78
_MARGIN = 0.06
"""Share of the clip left out at either end, where the athlete walks to and from the phone."""


def strip_of(path: Path) -> bytes:
    """Return five stills of a clip as one JPEG strip.

    Parameters
    ----------
    path : Path
        The clip.

    Returns
    -------
    bytes
        A picture of 5 x 62 by 78 pixels; a still that cannot be decoded is grey.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    """
    import cv2

    clip = read_clip(path)
    strip = np.full((HEIGHT_PX, STILLS * WIDTH_PX, 3), 226, np.uint8)
    last = len(clip.times_s) - 1
    wanted_s = np.linspace(_MARGIN, 1 - _MARGIN, STILLS) * clip.times_s[-1]
    for place, at_s in enumerate(wanted_s):
        index = int(np.clip(np.searchsorted(clip.times_s, at_s), 0, last))
        picture = next((p for _, p in clip.frames(start=index, stop=index + 1, long_side_px=4 * HEIGHT_PX)), None)
        if picture is None:
            continue
        height, width = picture.shape[:2]
        scale = min(HEIGHT_PX / height, (WIDTH_PX - 2) / width)
        size = max(1, round(width * scale)), max(1, round(height * scale))
        small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
        x = place * WIDTH_PX + (WIDTH_PX - size[0]) // 2
        y = (HEIGHT_PX - size[1]) // 2
        strip[y : y + size[1], x : x + size[0]] = small
    done, coded = cv2.imencode(".jpg", strip[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not done:
        raise ClipError(f"The stills of {path.name} cannot be made: look at the clip itself.")
    return coded.tobytes()


def kept_strip(path: Path, folder: Path, name: str) -> bytes:
    """Return the strip of a clip from a folder of strips, making it if it is not there.

    Parameters
    ----------
    path : Path
        The clip.
    folder : Path
        Where strips are kept.
    name : str
        Name of the content, so that a renamed clip keeps its strip.

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    OutputError
        If the folder cannot be written.
    """
    kept = folder / f"{name}.jpg"
    if kept.is_file():
        return kept.read_bytes()
    strip = strip_of(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise OutputError(f"{folder} cannot be written ({problem.strerror}): choose another folder.") from problem
    write_whole(kept, strip)
    return strip
