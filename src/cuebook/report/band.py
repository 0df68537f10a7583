"""The calm band of text below the picture: repetition, phase against the prescription, outcomes in words."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Repetition, ReviewData

from .choice import main_cue
from .lettering import PAPER, QUIET, fitted, height_px, lay, width_px
from .moment import (
    Stretch,
    decided_at,
    doubt_text,
    known_at,
    outcome_lines,
    phase_order,
    repetition_text,
    running_text,
    stretch_at,
    stretches,
)
from .words import OUTCOME_WORDS

_BAR = (208, 210, 208)
_SHORT_SLOT_S = 0.5


class Band:
    """Draws the band of one clip; the last one drawn is kept, since text changes ten times a second at most.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    width : int
        Width in pixels.
    short_side : int
        Shorter side of the picture above, which sets the size of the type.
    """

    def __init__(self, data: ReviewData, *, width: int, short_side: int) -> None:
        self._data, self._width = data, width
        self._size = max(14, round(0.044 * short_side))
        self._pad = round(0.6 * self._size)
        self._line = height_px(self._size)
        wide = width > 1.3 * short_side
        self._rows = (2 if wide else 3) if data.repetitions else (3 if wide else 5)
        self._stretches = stretches(data)
        cue = main_cue(data)
        self._first = None if cue is None else cue.name
        self._opening = self._opening_lines(None if cue is None else cue.say)
        bar = self._size // 2 if data.prescription.tempo is not None else 0
        self.height = (2 * self._pad + (1 + self._rows) * self._line + bar + self._size // 3) // 2 * 2
        self._bar_height = max(0, bar - self._size // 8)
        self._changes = self._times_of_change()
        self._told: dict[tuple[int, int], tuple[str, ...]] = {}
        self._key: tuple[object, ...] | None = None
        self._kept: NDArray[np.uint8] | None = None

    def _opening_lines(self, say: str | None) -> tuple[str, ...]:
        if not self._data.repetitions:
            return wrapped(f"{self._data.headline.fix} {self._data.headline.next}", self._size, self._room, self._rows)
        return wrapped(say or self._data.headline.fix, self._size, self._room, self._rows)

    @property
    def _room(self) -> int:
        return self._width - 2 * self._pad

    def at(self, time_s: float) -> NDArray[np.uint8]:
        """Return the band (height, width, 3) uint8 RGB at a time in seconds; do not write into it."""
        tick = round(time_s * 10) / 10
        stretch = stretch_at(self._stretches, time_s)
        left, right = self._heading(stretch, tick)
        lines = self._lines(time_s)
        key = (left, right, lines, stretch and (stretch.repetition.number, stretch.phase))
        if key != self._key or self._kept is None:
            self._kept = self._draw(left, right, lines, stretch, tick)
            self._key = key
        return self._kept

    def _heading(self, stretch: Stretch | None, tick: float) -> tuple[str, str]:
        if stretch is None:
            return self._data.movement.title, ""
        right = running_text(self._data, stretch, tick)
        left = repetition_text(self._data, stretch.repetition)
        if width_px(left, self._size, bold=True) + self._size + width_px(right, self._size) > self._room:
            left = left.replace(f" of {len(self._data.repetitions)}", "")
        return left, right

    def _lines(self, time_s: float) -> tuple[str, ...]:
        over = [r for r in self._data.repetitions if decided_at(self._data, r) <= time_s]
        lines = self._opening
        if over:
            lines = self._outcomes(over[-1], time_s)
            running = stretch_at(self._stretches, time_s)
            if lines and running is not None and running.repetition.number != over[-1].number:
                lines = (f"Rep {over[-1].number}  {lines[0]}", *lines[1:])
        doubt = doubt_text(self._data, time_s) if self._data.repetitions else None
        room = self._rows - 1 if doubt else self._rows
        return (*self._set(lines, room), f"( ) {doubt}") if doubt else self._set(lines, room)

    def _times_of_change(self) -> dict[int, tuple[float, ...]]:
        """Return when an outcome of each repetition becomes known, by its number."""
        times: dict[int, set[float]] = {r.number: set() for r in self._data.repetitions}
        by_number = {r.number: r for r in self._data.repetitions}
        for v in self._data.verdicts:
            if v.repetition in by_number:
                times[v.repetition].add(known_at(self._data, by_number[v.repetition], v))
        return {number: tuple(sorted(found)) for number, found in times.items()}

    def _outcomes(self, rep: Repetition, time_s: float) -> tuple[str, ...]:
        """Return what is known of a repetition at a time, put into words once for each change."""
        key = rep.number, sum(at <= time_s for at in self._changes[rep.number])
        if key not in self._told:
            self._told[key] = outcome_lines(self._data, rep, self._first, time_s=time_s)
        return self._told[key]

    def _set(self, lines: tuple[str, ...], room: int) -> tuple[str, ...]:
        """Return the lines that fit, the last one broken where rows are left."""
        short = [self._short(line) for line in lines[:room]]
        if not short:
            return ()
        return (*short[:-1], *wrapped(short[-1], self._size, self._room, room - len(short) + 1))

    def _short(self, line: str) -> str:
        """Return a line without what can be left out, as far as it is too wide: the limit, then the long words."""
        for shorter in (line, line.split(" (")[0], line.split(" (")[0].replace(OUTCOME_WORDS["near"], "near")):
            if width_px(shorter, self._size) <= self._room:
                break
        return shorter

    def _draw(
        self, left: str, right: str, lines: tuple[str, ...], stretch: Stretch | None, tick: float
    ) -> NDArray[np.uint8]:
        band = np.empty((self.height, self._width, 3), np.uint8)
        band[:] = PAPER
        y, size = self._pad, self._size
        taken = lay(band, fitted(left, size, self._room, bold=True), (self._pad, y), size, bold=True)
        if right:
            right = fitted(right, size, self._room - taken - size)
            lay(band, right, (self._width - self._pad - width_px(right, size), y), size)
        y += self._line
        if self._bar_height:
            self._draw_bar(band, y + size // 6, stretch, tick)
            y += self._bar_height + size // 8
        y += size // 3
        for line in lines:
            lay(band, fitted(line, size, self._room), (self._pad, y), size)
            y += self._line
        return band

    def _draw_bar(self, band: NDArray[np.uint8], y: int, stretch: Stretch | None, tick: float) -> None:
        """Draw the prescribed phases to scale, filled as far as they have run."""
        tempo = self._data.prescription.tempo
        if tempo is None:
            return
        order = phase_order(self._data.movement)
        slots = {p: 1.0 if tempo.slot(p) == "X" else float(tempo.slot(p)) for p in order}
        shares = {p: max(_SHORT_SLOT_S, s) for p, s in slots.items()}
        gap = max(2, self._size // 8)
        scale = (self._room - gap * (len(order) - 1)) / sum(shares.values())
        x, passed = float(self._pad), stretch is not None
        for phase in order:
            end = x + shares[phase] * scale
            band[y : y + self._bar_height, round(x) : round(end)] = _BAR
            part = 1.0 if passed else 0.0
            if stretch is not None and phase == stretch.phase:
                part, passed = min(1.0, max(0.0, tick - stretch.start_s) / shares[phase]), False
            band[y : y + self._bar_height, round(x) : round(x + part * (end - x))] = QUIET
            x = end + gap


def wrapped(text: str, size_px: int, room_px: int, rows: int) -> tuple[str, ...]:
    """Return a text broken into at most `rows` lines that fit, the last one shortened where it must be."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and (width_px(longer, size_px) <= room_px or len(lines) == rows):
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(fitted(line, size_px, room_px) for line in lines)
