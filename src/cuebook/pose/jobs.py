"""What travels between the process that asks for a track and its workers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cuebook.errors import CuebookError
from cuebook.model.clip import Frames

from .pieces import Piece, PieceResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A piece of a clip to analyse: which piece, whose frames, with which backend."""

    number: int
    backend: str
    frames: Frames
    piece: Piece


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Message:
    """What a worker says: frames done so far, the result, a refusal in words, or a defect with its trace."""

    kind: Literal["progress", "result", "refused", "defect"]
    number: int
    done: int = 0
    result: PieceResult | None = None
    error: CuebookError | None = None
    trace: str = ""
