"""Clips for the desk whose every frame says its own number in black and white, with the landmarks of a drawn athlete.

The review goes through the whole chain except the pose model: `python -m tests.desk_samples FOLDER` makes it by hand.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from cuebook.assess.analyse import judge_track
from cuebook.clip import read_clip
from cuebook.clip.write import write_video
from cuebook.model import Prescription, ReviewData, Settings, Track
from cuebook.movements import load_movement, parse_tempo
from cuebook.synthetic import Camera, ClipSpec, Picture, landmarks

BITS = 13
BONES = ((11, 13), (13, 15), (12, 14), (14, 16), (11, 12), (11, 23), (12, 24), (23, 24), (23, 25), (25, 27), (24, 26),
         (26, 28), (27, 31), (28, 32))  # fmt: skip


def barcode(number: int, width: int) -> np.ndarray:
    """A strip (H, width, 3) uint8 of 13 black or white cells, the highest bit at the left."""
    cell = width // BITS
    strip = np.full((max(8, cell // 2) * 2, width, 3), 128, np.uint8)
    for bit in range(BITS):
        white = number >> (BITS - 1 - bit) & 1
        strip[:, bit * cell : (bit + 1) * cell] = 255 if white else 0
    return strip


def pictures(track: Track, name: str):
    """Yield (H, W, 3) uint8 RGB frames: a line drawing of the athlete, the frame's number along the top.

    The wall differs with the name, so that clips of different names are different clips for the record.
    """
    import cv2

    wall = 165 + np.frombuffer(hashlib.sha256(name.encode()).digest()[:3], np.uint8) % 32
    for number, marks in enumerate(track.xy_px):
        frame = np.full((track.height_px, track.width_px, 3), wall, np.uint8)
        frame[int(0.9 * track.height_px) :] = (150, 132, 112)
        for a, b in BONES:
            p, q = (tuple(int(v) for v in marks[i]) for i in (a, b))
            cv2.line(frame, p, q, (52, 60, 74), max(3, track.width_px // 24), cv2.LINE_AA)
        cv2.circle(frame, tuple(int(v) for v in marks[0]), track.width_px // 18, (150, 110, 90), -1, cv2.LINE_AA)
        strip = barcode(number, track.width_px)
        frame[: len(strip)] = strip
        yield frame


def sample_review(path: str | Path, *, movement: str = "squat", side: str = "both", azimuth_deg: float = 80.0,
                  reps: int = 3, rate_hz: float = 30.0, width: int = 270, height: int = 480,
                  tempo: str | None = "3-1-1-0", faults: tuple[str, ...] = ()) -> ReviewData:  # fmt: skip
    """Judge a drawn clip, which is written to `path` if it is not there yet."""
    spec = ClipSpec(name="drawn", body="ash", movement=movement, side=side, reps=reps, seed=5,
                    camera=Camera(azimuth_deg=azimuth_deg),
                    picture=Picture(rate_hz=rate_hz, width_px=width, height_px=height), faults=faults)  # fmt: skip
    track, _ = landmarks(spec)
    if not Path(path).is_file():
        write_video(path, pictures(track, Path(path).stem), track.times_s)
    clip = read_clip(path)
    asked = Prescription(tempo=None if tempo is None else parse_tempo(tempo), repetitions=reps)
    return judge_track(clip, track_on(clip.times_s, track), movement=load_movement(movement), prescription=asked,
                       settings=Settings())  # fmt: skip


def track_on(times_s: np.ndarray, track: Track) -> Track:
    """The same track with the time stamps that the file really has."""
    from dataclasses import replace

    return replace(track, times_s=times_s)


if __name__ == "__main__":
    import sys

    print(sample_review(Path(sys.argv[1]) / "drawn.mp4").counts)
