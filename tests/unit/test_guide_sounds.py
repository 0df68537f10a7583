"""What is heard starts when it should, and every word that is called can be spoken."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from cuebook.errors import UnknownName
from cuebook.guide.beats import set_beats
from cuebook.guide.sounds import (
    PITCHES_HZ,
    RATE_HZ,
    WORD_LOUDNESS,
    read_wav,
    render_beats,
    tone,
    wav_bytes,
    word_file,
    words,
)
from cuebook.movements import list_movements, load_movement, parse_tempo


@pytest.mark.parametrize("pitch", sorted(PITCHES_HZ))
def test_a_tone_has_its_pitch_and_does_not_click(pitch: str) -> None:
    sound = tone(pitch)
    spectrum = np.abs(np.fft.rfft(sound, RATE_HZ))
    assert np.argmax(spectrum) == pytest.approx(PITCHES_HZ[pitch], abs=4)
    assert abs(sound[0]) < 0.01
    assert abs(sound[-1]) < 0.05


def test_an_unknown_pitch_or_word_is_named() -> None:
    with pytest.raises(UnknownName, match="middle"):
        tone("middle")
    with pytest.raises(UnknownName, match="sideways"):
        word_file("sideways")


@pytest.mark.parametrize("word", words())
def test_a_word_is_audible_from_its_first_hundredth_on_and_never_clipped(word: str) -> None:
    sound, rate = read_wav(word_file(word))
    assert rate == RATE_HZ
    assert 0.15 < len(sound) / rate < 0.9
    assert np.abs(sound[: rate // 100]).max() > 0.01
    assert 0.6 < np.abs(sound).max() < 0.95


def level_db(sound: np.ndarray) -> float:
    """Level over the loudest 0.1 s, in decibels below a full square wave."""
    count = RATE_HZ // 10
    return 10 * np.log10(np.convolve(sound**2, np.ones(count) / count, "valid").max())


def test_words_are_as_loud_as_each_other_and_as_the_tones() -> None:
    """Two sounds within 3 dB: common practice for speech beside signals, no source."""
    spoken = {w: level_db(WORD_LOUDNESS * read_wav(word_file(w))[0]) for w in words()}
    assert max(spoken.values()) - min(spoken.values()) < 3.0, spoken
    for pitch in PITCHES_HZ:
        assert level_db(tone(pitch)) == pytest.approx(np.median(list(spoken.values())), abs=3.0)


@pytest.mark.parametrize("name", list_movements())
@pytest.mark.parametrize("tempo", ["3-1-1-1", "4-0-2-0", "2-1-1-0"])
def test_every_word_is_over_before_the_next_one_begins(name: str, tempo: str) -> None:
    said = [b for b in set_beats(load_movement(name), parse_tempo(tempo), 3) if b.word]
    for word, following in pairwise(said):
        sound, rate = read_wav(word_file(word.word))
        assert word.time_s + len(sound) / rate <= following.time_s + 1e-9, (word.word, following.word)


@pytest.mark.parametrize("name", list_movements())
def test_every_word_that_a_movement_calls_can_be_spoken(name: str) -> None:
    beats = set_beats(load_movement(name), parse_tempo("4-2-3-2"), 3, count_in_s=10)
    assert {b.word for b in beats if b.word} <= set(words())


def test_a_rendered_set_sounds_on_its_beats() -> None:
    beats = set_beats(load_movement("squat"), parse_tempo("3-1-1-0"), 2, count_in_s=3)
    sound, rate = read_wav(render_beats(beats, spoken=False))
    loud = np.abs(sound) > 0.02
    onsets = np.flatnonzero(loud & ~np.concatenate(([False], loud[:-1])))
    onsets = onsets[np.concatenate(([True], np.diff(onsets) > 0.3 * rate))] / rate
    expected = [b.time_s for b in beats if b.pitch]
    assert onsets == pytest.approx(expected, abs=0.005)
    spoken, _ = read_wav(render_beats(beats))
    assert np.abs(spoken).max() < 1.0
    assert np.sum(spoken**2) > 1.5 * np.sum(sound**2)


def test_a_sound_file_gives_back_its_samples() -> None:
    sound = np.linspace(-1, 1, 101)
    back, rate = read_wav(wav_bytes(sound))
    assert rate == RATE_HZ
    assert back == pytest.approx(sound, abs=1e-4)
