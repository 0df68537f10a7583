"""Files to clips and back: the only folder that knows a video library."""

from .damage import SHORTEST_PART_S, damage_warning
from .read import file_hash, read_clip
from .reader import FrameReader, even_size
from .write import VideoWriter, write_video

__all__ = [
    "SHORTEST_PART_S",
    "FrameReader",
    "VideoWriter",
    "damage_warning",
    "even_size",
    "file_hash",
    "read_clip",
    "write_video",
]
