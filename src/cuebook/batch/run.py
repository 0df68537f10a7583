"""Scoring many clips from the first to the last, whoever asks: the command line, a notebook or a script."""

from __future__ import annotations

import os
import threading
import time
from collections import Counter, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from cuebook.errors import BatchError, OutputError, PoseError
from cuebook.pose.backends import find_backend

from .collect import TABLES, not_done, write_tables
from .drive import Drive
from .job import ClipResult, Event, Mark, State
from .ledger import Ledger, check_out
from .plan import Default, Plan, make_plan
from .prepare import Preparation
from .runner import Runner

if TYPE_CHECKING:
    import pandas as pd

LONGEST_CLIP_S = 1800.0
"""Seconds after which one clip is given up, unless another time is asked for (house choice)."""

MOST_WORKERS = 8
"""Processes taken without being asked; each needs about 0.7 GB of memory."""

LATEST = 50
"""Scored clips from which the time left is estimated."""

DRAIN_S = 20.0
"""How long running clips may take to notice that the batch was stopped before their processes are ended."""

_WORDS: dict[State, str] = {
    "scored": "scored",
    "could_not_be_used": "could not be used",
    "set_aside": "set aside",
    "not_done": "not done yet",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """How a batch ended.

    Attributes
    ----------
    folder : Path
        Folder of the results: a review per clip, and the tables.
    total : int
        Clips in all; each is in exactly one state.
    states : dict
        Number of clips by state.
    others : tuple
        Clip, state and reason of every clip that was not scored.
    notes : tuple of str
        Sentences for the reader.
    earlier : int
        Clips that an earlier run had done.
    defects : int
        Clips that were set aside because of a defect in cuebook.
    took_s : float
        Seconds that this run took.
    """

    folder: Path
    total: int
    states: dict[State, int]
    others: tuple[tuple[str, State, str], ...]
    notes: tuple[str, ...]
    earlier: int
    defects: int
    took_s: float

    @property
    def stopped(self) -> bool:
        """Whether clips are left that the batch did not come to."""
        return self.states.get("not_done", 0) > 0

    def table(self, name: str = "clips") -> pd.DataFrame:
        """Read one of the tables: ``clips``, ``repetitions`` or ``cues``.

        Raises
        ------
        BatchError
            If there is no such table.
        """
        if name not in TABLES:
            raise BatchError(f"There is no table '{name}': ask for {', '.join(TABLES)}.")
        import pandas as pd

        return pd.read_csv(self.folder / f"{name}.csv")

    def __str__(self) -> str:
        parts = [f"{count} {_WORDS[state]}" for state, count in self.states.items() if count]
        return f"{self.total} {'clip' if self.total == 1 else 'clips'}: {', '.join(parts)}."


def score_clips(
    source: str | Path,
    *,
    movement: str | None = None,
    tempo: str | None = None,
    repetitions: int | None = None,
    out: str | Path | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    video: bool = True,
    again: bool = False,
    longest_s: float = LONGEST_CLIP_S,
    person: str | Sequence[str] = (),
    tracks: str | Path | None = None,
    progress: Callable[[Event], None] | None = None,
    stop: threading.Event | None = None,
    runner: Runner | None = None,
) -> Scored:
    """Review every clip of a folder or a manifest and gather the results in tables.

    Asked again with the same folder of results, it goes on where it was: a clip whose bytes and settings are the same
    is not looked at twice.

    Parameters
    ----------
    source : str or Path
        A folder, whose sub-folders may have names of movements, or a CSV file with a column ``clip``.
    movement, tempo, repetitions : optional
        Of clips whose row or folder does not name them.
    out : str or Path, optional
        Folder of the results; default: the source's name with ``.batch`` beside it.
    workers : int, optional
        Processes on this machine; default: one per processor, at most 8.
    scheduler : str, optional
        Address of a Dask scheduler that hands the clips to several machines, such as ``tcp://192.168.1.20:8786``.
    video : bool
        Whether to draw the annotated clips.
    again : bool
        Whether to try clips again that an earlier run did not score.
    longest_s : float
        Seconds after which one clip is given up.
    person : str or sequence of str
        A point on the athlete where two people are in the picture: ``X,Y@T`` (pixels from the top left, seconds) for a
        single clip, ``CLIP=X,Y@T`` for one among several. A manifest has a column ``person`` for it.
    tracks : str or Path, optional
        Folder for landmarks of clips that lie in no workspace; default: they stay inside each review.
    progress : callable, optional
        Called with an `Event` for every step.
    stop : threading.Event, optional
        Set it from another thread to stop; what is done stays done.
    runner : Runner, optional
        Where to run the jobs, in place of `workers` and `scheduler`.

    Returns
    -------
    Scored
        Numbers, reasons and the folder. Every clip is in exactly one state.

    Raises
    ------
    BatchError
        If the manifest cannot be used, or nobody is there to do the work.
    OutputError
        If the results cannot be written there.
    PoseError
        If the pose backend is missing, or a point on an athlete cannot be used.
    MissingExtra
        If a scheduler is named and Dask is not installed.
    """
    source = Path(source)
    folder = Path(out) if out is not None else default_out(source)
    if workers is not None and workers < 1:
        raise BatchError(f"At least one worker is needed, but {workers} were asked for.")
    default = Default(
        movement=movement,
        tempo=tempo,
        repetitions=repetitions,
        persons=(person,) if isinstance(person, str) else tuple(person),
        tracks=None if tracks is None else Path(os.path.abspath(tracks)),
    )
    plan = make_plan(source, default=default, leave_out=folder)
    _check_backends(plan)
    check_out(folder)
    runner = runner or _runner(workers, scheduler, most=len(plan.clips))
    try:
        ledger = Ledger(folder)
    except OutputError:
        runner.close()
        raise
    batch = _Batch(plan, ledger, runner, progress=progress, stop=stop)
    return batch.run(video=video, again=again, longest_s=longest_s)


def default_out(source: Path) -> Path:
    """Return the folder of results that belongs to a folder or manifest."""
    source = Path(os.path.abspath(source))
    return source.with_name(f"{source.name if source.is_dir() else source.stem}.batch")


def processors() -> int:
    """Return how many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1


def _check_backends(plan: Plan) -> None:
    for name in sorted({clip.settings.backend for clip in plan.clips}):
        if (missing := find_backend(name).why_missing()) is not None:
            raise PoseError(missing)


def _runner(workers: int | None, scheduler: str | None, *, most: int) -> Runner:
    if scheduler is not None:
        if workers is not None:
            raise BatchError("Workers are started beside the scheduler: leave --workers out, or --scheduler.")
        from .cluster import Cluster

        return Cluster(scheduler)
    from .pool import Pool

    return Pool(min(most, workers or min(MOST_WORKERS, processors())))


@dataclass(slots=True)
class _Batch:
    """One run over a plan."""

    plan: Plan
    ledger: Ledger
    runner: Runner
    progress: Callable[[Event], None] | None
    stop: threading.Event | None
    results: dict[int, ClipResult] = field(default_factory=dict)
    began_s: float = field(default_factory=time.monotonic)
    scored_s: deque[float] = field(default_factory=lambda: deque(maxlen=LATEST))

    def run(self, *, video: bool, again: bool, longest_s: float) -> Scored:
        """Bring every clip to its end, or as far as it goes until the batch is stopped, and write the tables."""
        mark = self.ledger.begin()
        preparation = Preparation(plan=self.plan, ledger=self.ledger, mark=mark, video=video, again=again)
        drive = Drive(
            preparation.steps(),
            self.runner,
            record=lambda result: self._record(result, preparation),
            tell=self._tell,
            timeout_s=longest_s,
        )
        try:
            self._go(drive, mark)
        finally:
            self.ledger.end(mark)
            self.runner.close()
            notes = write_tables(self.ledger.out, self.plan, self.results, preparation.folders)
        return self._scored((*self.plan.notes, *notes))

    def _go(self, drive: Drive, mark: Mark) -> None:
        try:
            while not self._asked_to_stop(mark):
                if not drive.step():
                    return
        except KeyboardInterrupt:
            self._wind_up(drive, mark)
            raise
        self._wind_up(drive, mark)

    def _asked_to_stop(self, mark: Mark) -> bool:
        return (self.stop is not None and self.stop.is_set()) or mark.stopped()

    def _wind_up(self, drive: Drive, mark: Mark) -> None:
        self._say("", "stopping")
        self.ledger.end(mark)
        drive.drain(DRAIN_S)

    def _record(self, result: ClipResult, preparation: Preparation) -> None:
        if result.state == "not_done":
            return
        preparation.keep(result)
        self.results[result.number] = result
        if result.state == "scored" and not result.earlier:
            self.scored_s.append(result.took_s)
        self._say(self.plan.clips[result.number].name, result.state, 1.0, reason=result.reason, earlier=result.earlier)

    def _tell(self, clip: str, stage: str, share: float) -> None:
        self._say(clip, stage, share)

    def _say(self, clip: str, stage: str, share: float = 0.0, *, reason: str = "", earlier: bool = False) -> None:
        if self.progress is None:
            return
        done, total = len(self.results), len(self.plan.clips)
        left_s = self._left_s(total - done)
        self.progress(
            Event(
                clip=clip,
                stage=stage,
                done=done,
                total=total,
                share=share,
                left_s=left_s,
                reason=reason,
                earlier=earlier,
            )
        )

    def _left_s(self, clips: int) -> float | None:
        """Estimate the seconds for so many more clips from what a scored clip took; half of one at least."""
        if not self.scored_s or not clips:
            return None
        return sum(self.scored_s) / len(self.scored_s) * max(0.5, clips / max(1, self.runner.slots))

    def _scored(self, notes: tuple[str, ...]) -> Scored:
        ended = [self.results.get(clip.number) or not_done(clip.number) for clip in self.plan.clips]
        count = Counter(result.state for result in ended)
        return Scored(
            folder=self.ledger.out,
            total=len(ended),
            states={state: count[state] for state in _WORDS},
            others=tuple((self.plan.clips[r.number].name, r.state, r.reason) for r in ended if r.state != "scored"),
            notes=notes,
            earlier=sum(result.earlier for result in ended),
            defects=sum(bool(result.trace) for result in ended),
            took_s=time.monotonic() - self.began_s,
        )
