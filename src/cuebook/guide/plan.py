"""All that a guide or a hand timing needs to know of one prescribed set, as plain values for a page or a notebook."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from dataclasses import asdict
from functools import lru_cache
from importlib.resources import files
from typing import Any

from cuebook.assess.words import spoken_phases
from cuebook.model import Movement, Settings, Tempo
from cuebook.model.prescription import Slot
from cuebook.movements import TempoMargins
from cuebook.movements.tempo import X_SECONDS, repetition_seconds

from .beats import COUNT_IN_S, Beat, call_words, phase_order, set_beats
from .sounds import PITCHES_HZ, RISE_S, TONE_LOUDNESS, TONE_S, WORD_LOUDNESS, word_file

HAND_U_S = 0.2
"""Standard uncertainty of a phase between two taps: about 0.15 s for each (house choice; figures of hand timing differ
by person, and the part that is common to all taps cancels)."""
LOOK_AHEAD_S = 0.3
"""How far ahead of the sound's own clock beats are handed over, so that a busy page cannot delay them."""
OUTCOMES = {"met": "met", "near": "near: too close to call", "not_met": "not met"}
IMPORTANCE = ("eccentric", "concentric", "long_hold", "short_hold")
"""Which phase a sentence speaks of first."""


def set_plan(
    movement: Movement,
    tempo: Tempo,
    repetitions: int,
    *,
    count_in_s: int = COUNT_IN_S,
    margins: TempoMargins | None = None,
    settings: Settings | None = None,
) -> dict[str, Any]:
    """Return what the page and the notebook need to guide a set and to time it by hand.

    Parameters
    ----------
    movement : Movement
    tempo : Tempo
        The prescription.
    repetitions : int
        How many are asked for.
    count_in_s : int
        Seconds counted down before the first.
    margins : TempoMargins, optional
        What the coach grants.
    settings : Settings, optional
        The deciding chances.

    Returns
    -------
    dict
        JSON values: beats with seconds from the first number of the count-in, words as base64 sound files, slots with
        their bands in seconds, and the sentences that go with them.

    Raises
    ------
    ModelError
        If there is no repetition or the count-in is out of range.
    """
    margins, settings = margins or TempoMargins(), settings or Settings()
    beats = set_beats(movement, tempo, repetitions, count_in_s=count_in_s)
    order, calls = phase_order(movement), call_words(movement)
    words = spoken_phases(movement)
    slots = {p: _slot(p, tempo.slot(p), words[p], margins) for p in order}
    lasts = {p: slots[p]["seconds"] for p in order}
    rep_s = repetition_seconds(tempo)
    return {
        "movement": movement.title,
        "tempo": str(tempo),
        "repetitions": repetitions,
        "repetition_s": rep_s,
        "count_in_s": count_in_s,
        "summary": f"{repetitions} x {movement.title.lower()} at {tempo}: {rep_s * repetitions:g} s of work.",
        "order": list(order),
        "turn_is_low": movement.driver.first == "eccentric",
        "ends": {"high": "top", "low": "bottom"},
        "ribbon": [
            {"call": calls[p], "seconds": f"{lasts[p]:g} s", "lasts_s": lasts[p], "kind": _kind(p)}
            for p in order
            if lasts[p] > 0
        ],
        "beats": [asdict(b) | {"shown": _shown(b)} for b in beats],
        "words": {w: b64encode(word_file(w)).decode("ascii") for w in sorted({b.word for b in beats if b.word})},
        "tone": {"pitches_hz": PITCHES_HZ, "lasts_s": TONE_S, "rise_s": RISE_S, "loudness": TONE_LOUDNESS},
        "word_loudness": WORD_LOUDNESS,
        "look_ahead_s": LOOK_AHEAD_S,
        "slots": slots,
        "importance": list(IMPORTANCE),
        "outcomes": OUTCOMES,
        "hand_u_s": HAND_U_S,
        "met_at": settings.met_at,
        "not_met_at": settings.not_met_at,
        "drift_low": margins.drift_low,
    }


@lru_cache(maxsize=8)
def static_text(name: str) -> str:
    """Return a script or style sheet that belongs to the guide."""
    return files("cuebook.guide").joinpath("static", name).read_text(encoding="utf-8")


def _kind(phase: str) -> str:
    return "hold" if phase.endswith("hold") else "moving"


def _shown(beat: Beat) -> str:
    """Return the word as it is shown; a phase that goes on shows its second as a figure."""
    numbers = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    if beat.word in numbers:
        return str(numbers.index(beat.word) + 1)
    return {"last": "Last one", "done": "Done"}.get(beat.word, beat.word.capitalize())


def _margin(low: float | None, high: float | None) -> str:
    """Return the times that meet a prescription: `` (2.25 to 3.75)``, `` (0.75 or more)``."""
    if low is None:
        return ""
    return f" ({low:.3g} or more)" if high is None else f" ({low:.3g} to {high:.3g})"


def _slot(phase: str, slot: Slot, words: str, margins: TempoMargins) -> Mapping[str, Any]:
    seconds = X_SECONDS if isinstance(slot, str) else float(slot)
    band = margins.band(phase, slot)
    asked = f"at most {margins.x_s:g} s" if isinstance(slot, str) else "no pause" if slot == 0 else f"{slot:g} s"
    count = max(1, round(seconds))
    longer = f"stay while you count to {count}." if _kind(phase) == "hold" else f"count to {count} on the way."
    shorter = "turn round sooner." if _kind(phase) == "hold" else "move a little more briskly, under control."
    return {
        "title": words[0].upper() + words[1:],
        "seconds": seconds,
        "asked": asked,
        "band": {"low": band.low, "high": band.high},
        "margin": _margin(band.low, band.high) if slot != 0 else "",
        "starts": f"the {words} begins",
        "ends": f"the {words} ends",
        "longer": longer,
        "shorter": shorter,
    }
