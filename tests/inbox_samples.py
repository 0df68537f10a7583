"""Small invented clips for the inbox: a room with a pattern and somebody of blocks who moves in a way of their own."""

from __future__ import annotations

import wave
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

TICKS_PER_S = 1000


def take(seed: int, *, frames: int = 54, width: int = 144, height: int = 192, room: int = 0) -> list[NDArray[np.uint8]]:
    """Return the upright pictures of one take: `seed` is the course of the movement, `room` what stands still."""
    rng, walls = np.random.default_rng(seed), np.random.default_rng(900 + room)
    back = np.kron(walls.integers(60, 150, (height // 8, width // 8, 3)), np.ones((8, 8, 1))).astype(np.uint8)
    phase, speed, swing = rng.uniform(0, 6.3), rng.uniform(0.5, 1.4), rng.uniform(0.1, 0.22)
    wobble = np.cumsum(rng.normal(0, 0.012, frames))
    out = []
    for number in range(frames):
        image = back.copy()
        depth = swing * (1 - np.cos(phase + speed * 6.3 * number / 18)) + wobble[number]
        top, left = int(height * np.clip(0.15 + depth, 0.02, 0.6)), int(width * 0.35)
        image[top : top + height // 3, left : left + width // 4] = (190, 60, 60)
        image[top + height // 3 : int(height * 0.95), left + 4 : left + width // 4 - 4] = (40, 40, 90)
        out.append(image)
    return out


def write_take(
    path: Path,
    pictures: list[NDArray[np.uint8]],
    *,
    rate: float = 10.0,
    uneven: bool = False,
    turned: int = 0,
    codec: str = "libx264",
    crf: int = 20,
    scale: float = 1.0,
    metadata: dict[str, str] | None = None,
) -> Path:
    """Write pictures as a clip; `turned` quarter turns are undone by the display matrix."""
    path.parent.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(len(pictures))
    gaps = rng.uniform(0.4, 1.6, len(pictures)) if uneven else np.ones(len(pictures))
    stamps = np.round(np.concatenate([[0], np.cumsum(gaps)[:-1]]) * TICKS_PER_S / rate).astype(int)
    height, width = (int(side * scale) // 2 * 2 for side in pictures[0].shape[:2])
    container_format = "mov" if path.suffix.lower() in (".mov",) else "matroska" if path.suffix == ".mkv" else "mp4"
    options = {} if container_format == "matroska" else {"movflags": "use_metadata_tags"}
    with av.open(str(path), "w", format=container_format, options=options) as container:
        container.metadata.update(metadata or {})
        stream = container.add_stream(codec, rate=30)
        stream.width, stream.height = (width, height) if turned % 2 == 0 else (height, width)
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS_PER_S)
        quiet = {"x265-params": "log-level=none"} if codec == "libx265" else {}
        stream.options = {"crf": str(crf), "preset": "ultrafast", "g": "12", **quiet} if "26" in codec else {}
        if turned:
            stream.set_display_rotation(-90 * turned)
        for image, stamp in zip(pictures, stamps, strict=True):
            frame = av.VideoFrame.from_ndarray(image, format="rgb24").reformat(width, height, interpolation="AREA")
            shown = np.ascontiguousarray(np.rot90(frame.to_ndarray(format="rgb24"), turned))
            out = av.VideoFrame.from_ndarray(shown, format="rgb24")
            out.pts, out.time_base = int(stamp), Fraction(1, TICKS_PER_S)
            container.mux(stream.encode(out))
        container.mux(stream.encode(None))
    return path


def write_again(source: Path, target: Path, *, scale: float = 0.5, crf: int = 34, mirrored: bool = False) -> Path:
    """Code a clip again, smaller, as a messenger does: the turn is baked in, the metadata are lost."""
    from cuebook.clip import read_clip

    clip = read_clip(source)
    pictures = [image[:, ::-1] if mirrored else image for _, image in clip.frames()]
    height, width = (int(side * scale) // 2 * 2 for side in pictures[0].shape[:2])
    with av.open(str(target), "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS_PER_S)
        stream.options = {"crf": str(crf), "preset": "ultrafast", "g": "250"}
        for image, time_s in zip(pictures, clip.times_s, strict=True):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(image), format="rgb24")
            frame = frame.reformat(width, height, interpolation="AREA")
            frame.pts, frame.time_base = round(float(time_s) * TICKS_PER_S), Fraction(1, TICKS_PER_S)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return target


def write_sound(path: Path, *, seconds: float = 1.0) -> Path:
    """Write a sound file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    tone = (8000 * np.sin(np.arange(int(8000 * seconds)) * 0.3)).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(tone.tobytes())
    return path
