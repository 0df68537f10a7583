"""What was asked for on the command line, looked up before any work starts."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from .options import Share

if TYPE_CHECKING:
    from cuebook.model import ReviewData


class Asked:
    """What was typed, with every name looked up before any work starts."""

    def __init__(self, clip: Path, *, movement: str, side: str | None, tempo: str | None, reps: int | None) -> None:
        from cuebook.movements import find_workspace, load_movement, prescribe, read_settings

        self.clip = clip
        self.workspace = find_workspace(clip.parent)
        self.settings, self.margins = read_settings(self.workspace)
        self.movement = load_movement(movement, workspace=self.workspace)
        self.prescription = prescribe(self.movement, tempo=tempo, repetitions=reps, side=side)  # type: ignore[arg-type]

    @property
    def review_folder(self) -> Path:
        """Where the review of the clip goes unless another place is named."""
        return self.clip.with_name(f"{self.clip.stem}.review")

    @contextmanager
    def tracks(self, folder: Path | None) -> Iterator[Path]:
        """Give the folder for landmarks: the workspace's, that of the review to be replaced, or a passing one.

        A passing one starts with what the clip's own review holds, which itself is only read.
        """
        from cuebook.report.write import TRACK_FOLDER

        if self.workspace is not None:
            yield self.workspace / "cache"
        elif folder is not None and (folder / TRACK_FOLDER).is_dir():
            yield folder / TRACK_FOLDER
        else:
            own = self.review_folder / TRACK_FOLDER
            with TemporaryDirectory() as passing:
                if own.is_dir():
                    copytree(own, passing, dirs_exist_ok=True)
                yield Path(passing)

    def judge(
        self,
        tracks: Path,
        *,
        capture_rate: float | None,
        mirrored: str | None,
        progress: Share | None,
        person: str | None = None,
    ) -> ReviewData:
        """Judge the clip."""
        from cuebook.assess.analyse import review_clip
        from cuebook.pose import parse_pointed

        return review_clip(
            self.clip,
            movement=self.movement,
            prescription=self.prescription,
            capture_rate_hz=capture_rate,
            settings=replace(self.settings, mirrored=mirrored or "unknown"),
            margins=self.margins,
            cache_dir=tracks,
            person=None if person is None else parse_pointed(person),
            progress=progress,
        )
