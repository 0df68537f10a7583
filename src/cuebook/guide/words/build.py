"""Makes the spoken words of the tempo guide; needed only when the list of words changes.

Run with ``python -m cuebook.guide.words.build`` where the speech synthesiser ``espeak-ng`` is installed. Its sound is
cut to its first audible sample, so that a word begins on its beat, brought to one loudness and stored at 16 kHz.
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
_AUDIBLE = 0.02
_PEAK = 0.8


def speak(word: str, folder: Path) -> NDArray[np.float64]:
    """Return one spoken word at `RATE_HZ`, its first audible sample first."""
    from scipy.signal import resample_poly

    file = folder / f"{word}.wav"
    text = SPOKEN_AS.get(word, word)
    subprocess.run(["espeak-ng", "-v", "en-gb", "-s", "165", "-p", "42", "-w", str(file), text], check=True)
    sound, rate = read_wav(file.read_bytes())
    sound = resample_poly(sound, RATE_HZ, rate)
    loud = np.flatnonzero(np.abs(sound) > _AUDIBLE * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    return _PEAK * sound / np.abs(sound).max()


def build(target: Path) -> None:
    """Write every word as a file of its own into a folder."""
    with TemporaryDirectory() as folder:
        for word in WORDS:
            (target / f"{word}.wav").write_bytes(wav_bytes(speak(word, Path(folder))))


if __name__ == "__main__":
    build(Path(__file__).parent)
