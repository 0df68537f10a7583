"""From planned clips to jobs, one at a time: what is done already, and what is the same file again, needs no work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from cuebook.clip import file_hash
from cuebook.errors import ClipError

from .job import ClipJob, ClipResult, Mark
from .ledger import Ledger, result_key
from .plan import Plan, PlannedClip


@dataclass(slots=True, kw_only=True)
class Preparation:
    """Makes the jobs of a plan and keeps what they brought.

    Attributes
    ----------
    plan : Plan
        The clips.
    ledger : Ledger
        What was done before.
    mark : Mark
        Of this run.
    video : bool
        Whether to draw annotated clips.
    again : bool
        Whether to try clips again that an earlier run did not score.
    keys : dict
        Name of the result by the number of the clip; clips that cannot be read have none.
    folders : dict
        Name of the review's folder by the number of the clip.
    """

    plan: Plan
    ledger: Ledger
    mark: Mark
    video: bool
    again: bool = False
    keys: dict[int, str] = field(default_factory=dict)
    folders: dict[int, str] = field(default_factory=dict)
    _first: dict[str, str] = field(default_factory=dict)

    def steps(self) -> Iterator[ClipJob | ClipResult]:
        """Yield for every clip a job, or its result where no work is needed; nothing is read before its turn."""
        for clip in self.plan.clips:
            yield self._step(clip)

    def keep(self, result: ClipResult) -> None:
        """Keep a result on disk, unless it is there already, has no name or the clip was not done."""
        key = self.keys.get(result.number)
        if key is None or result.earlier or result.state == "not_done":
            return
        clip = self.plan.clips[result.number]
        self.ledger.keep(key, result, name=clip.name, folder=self.folders[result.number])

    def _step(self, clip: PlannedClip) -> ClipJob | ClipResult:
        try:
            sha256 = _hash(clip)
        except ClipError as refused:
            return ClipResult(number=clip.number, state="could_not_be_used", reason=str(refused))
        key = result_key(clip, sha256=sha256, video=self.video)
        if key in self._first:
            reason = f"It is the same clip, with the same asked of it, as {self._first[key]}, and counts once."
            return ClipResult(number=clip.number, state="set_aside", reason=reason)
        self._first[key], self.keys[clip.number] = clip.name, key
        entry = self.ledger.find(key, sha256=sha256)
        if entry is not None and (entry.state == "scored" or not self.again):
            self.folders[clip.number] = entry.folder
            return ClipResult(
                number=clip.number,
                state=entry.state,
                reason=entry.reason,
                took_s=entry.took_s,
                trace=entry.trace,
                earlier=True,
            )
        self.folders[clip.number] = clip.folder
        return self._job(clip, sha256)

    def _job(self, clip: PlannedClip, sha256: str) -> ClipJob:
        return ClipJob(
            number=clip.number,
            name=clip.name,
            clip=clip.clip,
            sha256=sha256,
            movement=clip.movement,
            prescription=clip.prescription,
            settings=clip.settings,
            margins=clip.margins,
            capture_rate_hz=clip.capture_rate_hz,
            folder=self.ledger.out / clip.folder,
            cache_dir=clip.cache_dir,
            video=self.video,
            mark=self.mark,
            person=clip.person,
        )


def _hash(clip: PlannedClip) -> str:
    from cuebook.clip.container import checked_path

    try:
        return file_hash(checked_path(clip.clip))
    except OSError as cause:
        raise ClipError(f"{clip.name} cannot be read ({cause.strerror}): copy it again.") from cause
