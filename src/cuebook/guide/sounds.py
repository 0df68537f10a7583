"""Tones and spoken words of the tempo guide, and a whole set as one sound."""

from __future__ import annotations

import io
import wave
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import UnknownName

from .beats import Beat

Sound = NDArray[np.float64]

RATE_HZ = 16_000
"""Samples per second of everything that sounds."""
PITCHES_HZ = {"low": 440.0, "high": 880.0}
"""The two pitches, an octave apart: low on the way to the long end and there, high on the way to the short end. Both
lie below 1 kHz, where hearing lost with age is least (from memory: ISO 7029)."""
TONE_S = 0.12
RISE_S = 0.004
TONE_LOUDNESS, WORD_LOUDNESS = 0.25, 0.8
"""Largest samples: a word is about as loud as the tone that it begins with, so that neither hides the other."""


def tone(pitch: str) -> Sound:
    """Return one short tone that rises and falls within 4 ms, so that it does not click.

    Parameters
    ----------
    pitch : {"low", "high"}

    Raises
    ------
    UnknownName
        If there is no such pitch.

    Returns
    -------
    ndarray, shape (n,)
        Samples from -1 to 1 at `RATE_HZ`.
    """
    if pitch not in PITCHES_HZ:
        raise UnknownName("pitch", pitch, sorted(PITCHES_HZ))
    t = np.arange(round(TONE_S * RATE_HZ)) / RATE_HZ
    edge = np.clip(np.minimum(t, TONE_S - t) / RISE_S, 0.0, 1.0)
    return TONE_LOUDNESS * np.sin(2 * np.pi * PITCHES_HZ[pitch] * t) * edge


@lru_cache(maxsize=1)
def words() -> tuple[str, ...]:
    """Return the words that can be spoken."""
    return tuple(sorted(f.name.removesuffix(".wav") for f in _folder().iterdir() if f.name.endswith(".wav")))


def word_file(word: str) -> bytes:
    """Return the sound file of one word.

    Raises
    ------
    UnknownName
        If there is no such word.
    """
    if word not in words():
        raise UnknownName("spoken word", word, words())
    return _folder().joinpath(f"{word}.wav").read_bytes()


def _folder() -> Traversable:
    return files("cuebook.guide.words")


def read_wav(data: bytes) -> tuple[Sound, int]:
    """Return the samples of a 16-bit sound file, first channel, from -1 to 1, and their rate in Hz."""
    with wave.open(io.BytesIO(data)) as file:
        raw = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        return raw[:: file.getnchannels()] / 32767.0, file.getframerate()


def wav_bytes(sound: Sound) -> bytes:
    """Return samples from -1 to 1 as a 16-bit sound file with one channel at `RATE_HZ`."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes((np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes())
    return out.getvalue()


def render_beats(beats: Sequence[Beat], *, spoken: bool = True) -> bytes:
    """Return a whole guided set as one sound file.

    Parameters
    ----------
    beats : sequence of Beat
        From `cuebook.guide.beats.set_beats`.
    spoken : bool
        With words; otherwise tones alone.

    Returns
    -------
    bytes
        A WAV file; every tone begins within one sample of its beat.
    """
    length = max((b.time_s for b in beats), default=0.0) + 1.5
    sound = np.zeros(round(length * RATE_HZ))
    for beat in beats:
        first = round(beat.time_s * RATE_HZ)
        parts = [tone(beat.pitch)] if beat.pitch else []
        if spoken and beat.word:
            parts.append(WORD_LOUDNESS * read_wav(word_file(beat.word))[0])
        for part in parts:
            sound[first : first + len(part)] += part[: len(sound) - first]
    return wav_bytes(sound)
