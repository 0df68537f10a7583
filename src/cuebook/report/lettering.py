"""Type for pictures: text set once with a real font, kept as a small mask, laid on frames as often as needed."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Colour = tuple[int, int, int]

INK: Colour = (28, 32, 38)
PAPER: Colour = (250, 249, 245)
QUIET: Colour = (96, 102, 110)


@lru_cache(maxsize=1)
def _font_folder() -> Path:
    """Return the folder of the open fonts that come with matplotlib, found without importing matplotlib."""
    from importlib.util import find_spec

    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise ImportError("matplotlib brings the fonts for pictures and is not installed.")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"


@lru_cache(maxsize=16)
def _font(size_px: int, bold: bool):
    from PIL import ImageFont

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return ImageFont.truetype(str(_font_folder() / name), size_px)


@lru_cache(maxsize=512)
def mask(text: str, size_px: int, *, bold: bool = False) -> NDArray[np.uint8]:
    """Return the coverage (H, W) uint8 of one line of text; H depends on the size only, so that lines align.

    Parameters
    ----------
    text : str
        One line.
    size_px : int
        Size of the type in pixels.
    bold : bool
        Whether to set it bold.
    """
    from PIL import Image, ImageDraw

    font = _font(size_px, bold)
    ascent, descent = font.getmetrics()
    width = max(1, int(np.ceil(font.getlength(text))))
    picture = Image.new("L", (width, ascent + descent))
    ImageDraw.Draw(picture).text((0, 0), text, fill=255, font=font)
    array = np.asarray(picture)
    array.setflags(write=False)
    return array


def width_px(text: str, size_px: int, *, bold: bool = False) -> int:
    """Return the width of a line of text in pixels."""
    return mask(text, size_px, bold=bold).shape[1]


def height_px(size_px: int) -> int:
    """Return the height of a line of text in pixels."""
    return sum(_font(size_px, False).getmetrics())


def fitted(text: str, size_px: int, room_px: int, *, bold: bool = False) -> str:
    """Return the text, shortened at a word with an ellipsis where it is wider than the room."""
    if width_px(text, size_px, bold=bold) <= room_px:
        return text
    words = text.split(" ")
    while len(words) > 1:
        words.pop()
        short = " ".join(words).rstrip(",;:") + " …"
        if width_px(short, size_px, bold=bold) <= room_px:
            return short
    return words[0]


@lru_cache(maxsize=512)
def plate(text: str, size_px: int, *, bold: bool = False, colour: Colour = INK, paper: Colour = PAPER,
          pad_px: int = 0) -> NDArray[np.uint8]:  # fmt: skip
    """Return one line of text as a picture (H, W, 3) uint8 RGB on plain paper, kept for the next time.

    Parameters
    ----------
    text : str
        One line.
    size_px : int
        Size of the type.
    bold : bool
        Whether to set it bold.
    colour, paper : tuple of int
        RGB of the type and of what is behind it.
    pad_px : int
        Paper to the left and right of the text.
    """
    cover = np.pad(mask(text, size_px, bold=bold), ((0, 0), (pad_px, pad_px))).astype(np.uint16)[..., None]
    mixed = (np.array(paper, np.uint16) * (255 - cover) + np.array(colour, np.uint16) * cover + 127) // 255
    picture = mixed.astype(np.uint8)
    picture.setflags(write=False)
    return picture


def lay(picture: NDArray[np.uint8], text: str, at: tuple[int, int], size_px: int, *, bold: bool = False,
        colour: Colour = INK, paper: Colour = PAPER, pad_px: int = 0) -> int:  # fmt: skip
    """Put a line of text on its paper into an RGB picture in place; what lies outside is cut off.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3) uint8
        RGB, changed in place.
    text : str
        One line.
    at : tuple of int
        Left and top corner in pixels.
    size_px, bold, colour, paper, pad_px
        As in `plate`.

    Returns
    -------
    int
        Width in pixels.
    """
    set_text = plate(text, size_px, bold=bold, colour=colour, paper=paper, pad_px=pad_px)
    x, y = at
    height, width = set_text.shape[:2]
    x0, y0, x1, y1 = max(0, x), max(0, y), min(picture.shape[1], x + width), min(picture.shape[0], y + height)
    if x0 < x1 and y0 < y1:
        picture[y0:y1, x0:x1] = set_text[y0 - y : y1 - y, x0 - x : x1 - x]
    return width
