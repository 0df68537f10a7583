"""Makes the spoken words of the tempo guide; needed only when the list of words changes.

Run with ``python -m cuebook.guide.words.build`` where the speech synthesiser ``espeak-ng`` is installed. Its sound is
cut to its first audible sample, so that a word begins on its beat, brought to one loudness and stored at 16 kHz. Peaks
of such a voice stand far above its loudness; they are rounded off, so that no word is softer than the tones.
"""

from __future__ import annotations

import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from cuebook.guide.sounds import RATE_HZ, read_wav, wav_bytes

NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
WORDS = (*NUMBERS, "down", "up", "hold", "turn", "back", "last", "done")
SPOKEN_AS = {"done": "well done", "last": "last one"}
WORDS_A_MINUTE = 165
QUICKER = {"last": 250}
"""Words that must be over before the next one is called."""
_AUDIBLE = 0.02
_PEAK = 0.9
_LOUDNESS = 0.24
"""Root mean square of every word over its loudest 0.2 s."""


def speak(word: str, folder: Path) -> NDArray[np.float64]:
    """Return one spoken word at `RATE_HZ`, its first audible sample first."""
    from scipy.signal import resample_poly

    file = folder / f"{word}.wav"
    text = SPOKEN_AS.get(word, word)
    speed = str(QUICKER.get(word, WORDS_A_MINUTE))
    subprocess.run(["espeak-ng", "-v", "en-gb", "-s", speed, "-p", "42", "-w", str(file), text], check=True)
    sound, rate = read_wav(file.read_bytes())
    sound = resample_poly(sound, RATE_HZ, rate)
    loud = np.flatnonzero(np.abs(sound) > _AUDIBLE * np.abs(sound).max())
    return levelled(sound[loud[0] : loud[-1] + 1])


def levelled(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a word at the common loudness; what would rise above the largest sample allowed is rounded off."""
    gain = 1.0
    for _ in range(40):
        out = _PEAK * np.tanh(gain * sound / np.abs(sound).max())
        gain *= _LOUDNESS / loudness(out)
    return out


def loudness(sound: NDArray[np.float64]) -> float:
    """Return the root mean square over the loudest 0.2 s."""
    count = min(len(sound), RATE_HZ // 5)
    return float(np.sqrt(np.convolve(sound**2, np.ones(count) / count, "valid").max()))


def build(target: Path) -> None:
    """Write every word as a file of its own into a folder."""
    with TemporaryDirectory() as folder:
        for word in WORDS:
            (target / f"{word}.wav").write_bytes(wav_bytes(speak(word, Path(folder))))


if __name__ == "__main__":
    build(Path(__file__).parent)
