"""A prescription fits the movement or is refused."""

from __future__ import annotations

import pytest

from cuebook.errors import ModelError, TempoError
from cuebook.model import Prescription, Tempo
from cuebook.movements import load_movement, prescribe


def test_text_becomes_a_prescription() -> None:
    tempo = Tempo(eccentric=3, long_hold=1, concentric="X", short_hold=0)
    lunge = load_movement("lateral-lunge")
    expected = Prescription(tempo=tempo, repetitions=8, side="left")
    assert prescribe(lunge, tempo="31X0", repetitions=8, side="left") == expected
    assert prescribe(lunge, tempo=tempo, repetitions=8, side="left") == expected
    assert prescribe(lunge) == Prescription()


@pytest.mark.parametrize(
    ("name", "asked", "error", "words"),
    [
        ("squat", {"side": "left"}, ModelError, "Squat works both sides at once"),
        ("lateral-lunge", {"side": "near"}, ModelError, "left or right, but 'near'"),
        ("squat", {"repetitions": 0}, ModelError, "at least one repetition"),
        ("squat", {"tempo": "3-1-1"}, TempoError, "three numbers"),
    ],
)
def test_what_does_not_fit_is_refused(name: str, asked: dict, error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=words):
        prescribe(load_movement(name), **asked)
