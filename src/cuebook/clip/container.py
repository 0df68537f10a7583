"""Opening a file as a video container, with one clear sentence when that cannot be done."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from cuebook.errors import ClipError

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.stream import VideoStream

CONTAINERS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi,mpegts,mpeg,flv,asf,ogg,mxf"
"""Container formats read. Playlists and picture sequences, which would open other files, are not among them."""

_HEAD_BYTES = 4096
_PICTURES = {
    b"\xff\xd8\xff": "JPEG",
    b"\x89PNG": "PNG",
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"II*\x00": "TIFF",
    b"MM\x00*": "TIFF",
}


def checked_path(path: str | Path) -> Path:
    """Return `path` after checking that it names a file with something in it.

    Raises
    ------
    ClipError
        If the path is missing, a folder, not readable or empty.
    """
    file = Path(path)
    if file.is_dir():
        raise ClipError(f"{file.name or file} is a folder: give the name of one video file.")
    if not file.exists():
        raise ClipError(f"There is no file {file}: check the name and the folder.")
    try:
        size = file.stat().st_size
        with file.open("rb") as handle:
            handle.read(1)
    except OSError as cause:
        raise ClipError(f"{file.name} cannot be read ({cause.strerror}): check who may read the file.") from cause
    if size == 0:
        raise ClipError(f"{file.name} is empty (0 bytes): copy it from the phone again.")
    return file


@contextmanager
def opened(file: Path) -> Iterator[tuple[InputContainer, VideoStream]]:
    """Open a clip and hand out its container and its picture stream.

    Raises
    ------
    ClipError
        If the file is missing, no video, or has no picture stream that can be decoded.
    """
    import av

    checked_path(file)
    options = {"format_whitelist": CONTAINERS}
    try:
        container = av.open(str(file), metadata_errors="ignore", container_options=options)
    except (av.FFmpegError, OSError, ValueError) as cause:
        raise ClipError(why_unreadable(file)) from cause
    with container:
        yield container, picture_stream(container, file)


def picture_stream(container: InputContainer, file: Path) -> VideoStream:
    """Return the first moving-picture stream, leaving out cover pictures of sound files.

    Raises
    ------
    ClipError
        If there is none, or no decoder for it.
    """
    from av.stream import Disposition

    streams = [s for s in container.streams.video if not s.disposition & Disposition.attached_pic]
    if not streams:
        kind = "only sound" if container.streams.audio else "no pictures"
        raise ClipError(f"{file.name} holds {kind}: choose the video that shows the athlete.")
    if streams[0].codec_context is None:
        raise ClipError(f"{file.name} uses a picture coding that is not known here: convert it to H.264 first.")
    return streams[0]


def why_unreadable(file: Path) -> str:
    """Say in one sentence why a file could not be opened as a video."""
    with file.open("rb") as handle:
        head = handle.read(_HEAD_BYTES)
    kind = next((name for magic, name in _PICTURES.items() if head.startswith(magic)), None)
    if kind is None and head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        kind = "WebP"
    if kind is not None:
        return f"{file.name} is a still picture ({kind}), not a video: choose the clip of the whole set."
    if head[4:8] in (b"ftyp", b"mdat", b"wide", b"free"):
        return (
            f"{file.name} was cut off while it was recorded or copied (its index is missing): "
            "copy it from the phone again."
        )
    if _is_sound(head):
        return f"{file.name} holds only sound: choose the video that shows the athlete."
    if _is_text(head):
        return f"{file.name} is a text file, not a video: choose the clip itself."
    return f"{file.name} is not a video that can be read: choose an MP4 or MOV file as it comes from the phone."


def _is_sound(head: bytes) -> bool:
    return head.startswith((b"ID3", b"fLaC", b"\xff\xfb", b"\xff\xf1")) or (head[:4] + head[8:12]) == b"RIFFWAVE"


def _is_text(head: bytes) -> bool:
    if b"\x00" in head:
        return False
    try:
        head.decode("utf-8")
    except UnicodeDecodeError as cause:
        return cause.start > len(head) - 4
    return True
