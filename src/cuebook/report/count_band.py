"""The band below a reference clip: the phase that runs, its seconds counted aloud, and the cue to think of."""

from __future__ import annotations

from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from cuebook.assess.words import phase_words
from cuebook.model import Repetition, ReviewData

from .band import wrapped
from .lettering import INK, PAPER, QUIET, fitted, height_px, lay, width_px
from .moment import Stretch, phase_order, stretches

_EMPTY = (208, 210, 208)
_LEAST_SHARE_S = 0.4
READY = "ready"


class CountBand:
    """Draws the count of one repetition.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    rep : Repetition
        The model repetition.
    sentences : sequence of str
        The cues to think of; they take turns where there are several, a phase each.
    width : int
        Width in pixels.
    short_side : int
        Shorter side of the picture above, which sets the size of the type.

    Attributes
    ----------
    height : int
        Height in pixels.
    """

    def __init__(self, data: ReviewData, rep: Repetition, *, sentences: tuple[str, ...], width: int,
                 short_side: int) -> None:  # fmt: skip
        self._words = phase_words(data.movement)
        self._order = phase_order(data.movement)
        self._runs = tuple(s for s in stretches(data) if s.repetition.number == rep.number)
        self._sentences, self._width = sentences, width
        self._small = max(14, round(0.044 * short_side))
        self._large = max(24, round(0.095 * short_side))
        self._pad = round(0.7 * self._small)
        self._bar = max(8, self._small // 2)
        self._rows = 2 if sentences else 0
        rows = self._rows * height_px(self._small) + (self._small // 3 if self._rows else 0)
        self.height = (3 * self._pad + height_px(self._large) + self._bar + rows) // 2 * 2

    def at(self, time_s: float) -> NDArray[np.uint8]:
        """Return the band (height, width, 3) uint8 RGB at a time in seconds."""
        band = np.empty((self.height, self._width, 3), np.uint8)
        band[:] = PAPER
        run = self.running(time_s)
        room = self._width - 2 * self._pad
        count = self.count(time_s)
        left = READY if run is None else self._words[run.phase]
        lay(band, fitted(left, self._large, room - 2 * self._large, bold=True), (self._pad, self._pad), self._large,
            bold=True)  # fmt: skip
        if count:
            x = self._width - self._pad - width_px(count, self._large, bold=True)
            lay(band, count, (x, self._pad), self._large, bold=True)
        y = 2 * self._pad + height_px(self._large)
        self._draw_bar(band, y, time_s)
        y += self._bar + self._small // 3
        for line in wrapped(self._sentence(run), self._small, room, self._rows) if self._rows else ():
            lay(band, line, (self._pad, y), self._small, colour=INK)
            y += height_px(self._small)
        return band

    def running(self, time_s: float) -> Stretch | None:
        """Return the phase that runs at a time, None before the repetition begins."""
        begun = [s for s in self._runs if s.start_s <= time_s]
        return begun[-1] if begun else None

    def count(self, time_s: float) -> str:
        """Return the second of the running phase as it is counted aloud: 1 from its beginning, never past its end."""
        run = self.running(time_s)
        if run is None:
            return ""
        last = None if run.end_s is None else max(1, ceil(run.end_s - run.start_s - 0.5))
        now = floor(time_s - run.start_s + 1e-6) + 1
        return str(now if last is None else min(now, last))

    def _sentence(self, run: Stretch | None) -> str:
        if not self._sentences:
            return ""
        place = 0 if run is None else self._order.index(run.phase)
        return self._sentences[place % len(self._sentences)]

    def _draw_bar(self, band: NDArray[np.uint8], y: int, time_s: float) -> None:
        """Draw the phases to scale, filled as far as they have run."""
        lengths = [max(_LEAST_SHARE_S, (s.end_s - s.start_s) if s.end_s is not None else 1.0) for s in self._runs]
        if not lengths:
            return
        gap = max(2, self._small // 8)
        scale = (self._width - 2 * self._pad - gap * (len(lengths) - 1)) / sum(lengths)
        x = float(self._pad)
        for run, length in zip(self._runs, lengths, strict=True):
            end = x + length * scale
            part = float(np.clip((time_s - run.start_s) / length, 0.0, 1.0))
            band[y : y + self._bar, round(x) : round(end)] = _EMPTY
            band[y : y + self._bar, round(x) : round(x + part * (end - x))] = QUIET
            x = end + gap
