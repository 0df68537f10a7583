"""One clip as a job: what travels to the process that reviews it, what comes back, and the function that does it."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from cuebook.errors import ClipError, CuebookError
from cuebook.model import Clip, Movement, Prescription, ReviewData, Settings, Track
from cuebook.movements import TempoMargins
from cuebook.pose import Pointed

State = Literal["scored", "could_not_be_used", "set_aside", "not_done"]
"""How a clip ends; ``not_done`` only where the batch was stopped before its turn."""

LOOK_EVERY_S = 0.5
"""How often a running job looks whether the batch was stopped."""

TELL_EVERY_S = 0.25
"""How often a running job says how far it is."""


class StopAsked(Exception):
    """The batch was stopped while a clip was being reviewed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A small file that holds the name of the run; a run whose name is no longer in it has been stopped.

    Every machine that reviews clips sees the folder of the results, and so this file.

    Attributes
    ----------
    path : Path
        The file.
    run : str
        Name of the run.
    """

    path: Path
    run: str

    def stopped(self) -> bool:
        """Tell whether the run was stopped or another one has taken its place."""
        try:
            return self.path.read_text(encoding="utf-8").strip() != self.run
        except FileNotFoundError:
            return True
        except OSError:
            return False


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipJob:
    """Everything needed to review one clip, wherever that happens.

    Attributes
    ----------
    number : int
        Place of the clip in the plan, from 0.
    name : str
        The clip as it is shown.
    clip : Path
        The file.
    sha256 : str
        Hash of its bytes.
    movement, prescription, settings, margins
        As for `review_clip`.
    capture_rate_hz : float or None
        Rate of a slow-motion clip.
    folder : Path
        Where the review is written.
    cache_dir : Path or None
        Folder for landmarks; None keeps them inside the review.
    video : bool
        Whether to draw the annotated clip.
    mark : Mark
        Tells when to stop.
    person : Pointed or None
        A point on the athlete, where two people are in the picture: only that person is followed.
    """

    number: int
    name: str
    clip: Path
    sha256: str
    movement: Movement
    prescription: Prescription
    settings: Settings
    margins: TempoMargins
    capture_rate_hz: float | None
    folder: Path
    cache_dir: Path | None
    video: bool
    mark: Mark
    person: Pointed | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipResult:
    """How one clip ended.

    Attributes
    ----------
    number : int
        Place of the clip in the plan.
    state : {"scored", "could_not_be_used", "set_aside", "not_done"}
        The one state it ended in.
    reason : str
        One sentence where it was not scored.
    took_s : float
        Seconds of work.
    trace : str
        Trace of a defect in cuebook.
    earlier : bool
        Whether an earlier run of the batch had done it.
    """

    number: int
    state: State
    reason: str = ""
    took_s: float = 0.0
    trace: str = ""
    earlier: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One step of the batch, for whoever shows its progress.

    Attributes
    ----------
    clip : str
        The clip; empty for the batch as a whole.
    stage : str
        ``started``, ``reading``, ``writing``, ``again`` (its process died, it gets a second try), ``stopping``, or the
        state in which the clip ended.
    done, total : int
        Clips that have ended, and clips in all.
    share : float
        How much of this stage of the clip is done, 0 to 1.
    left_s : float or None
        Estimated seconds until the batch is done; None until a clip has been scored, and at the end.
    reason : str
        Why a clip was not scored.
    earlier : bool
        Whether an earlier run of the batch had done the clip.
    """

    clip: str
    stage: str
    done: int
    total: int
    share: float = 0.0
    left_s: float | None = None
    reason: str = ""
    earlier: bool = False


class Reporter:
    """Says how far a job is, now and then, and ends it when the batch was stopped.

    Parameters
    ----------
    send : callable
        Called with stage and share.
    stopped : callable
        Tells whether the batch was stopped.
    """

    def __init__(self, send: Callable[[str, float], None], stopped: Callable[[], bool]) -> None:
        self._send, self._stopped = send, stopped
        self._stage, self._looked_s, self._told_s = "", -LOOK_EVERY_S, -TELL_EVERY_S

    def __call__(self, stage: str, share: float = 0.0) -> None:
        """Take note of a share of a stage.

        Raises
        ------
        StopAsked
            If the batch was stopped.
        """
        now = time.monotonic()
        if now - self._looked_s >= LOOK_EVERY_S:
            self._looked_s = now
            if self._stopped():
                raise StopAsked
        if stage != self._stage or now - self._told_s >= TELL_EVERY_S:
            self._stage, self._told_s = stage, now
            self._send(stage, min(1.0, max(0.0, share)))


Work = Callable[[ClipJob, Reporter], ClipResult]
"""What a runner does with a job; a function that can be imported where it runs."""


def score_clip(job: ClipJob, report: Reporter) -> ClipResult:
    """Review one clip with one compute thread and write its folder; the same function everywhere.

    Parameters
    ----------
    job : ClipJob
        The clip and what was asked.
    report : Reporter
        Hears how far it is.

    Returns
    -------
    ClipResult
        Always: an error becomes a state with its reason.
    """
    began = time.monotonic()
    end = partial(_result, job, began)
    try:
        report("started")
        with _tracks(job) as tracks:
            data = _judged(job, tracks, report)
            _write(job, data, tracks, report)
    except StopAsked:
        return end("not_done", "The batch was stopped before this clip was done.")
    except ClipError as refused:
        return end("could_not_be_used", str(refused))
    except CuebookError as refused:
        return end("set_aside", str(refused))
    except Exception as defect:  # one clip's defect must not cost the others; the trace is kept
        said = f"A defect in cuebook ended the review ({type(defect).__name__}: {defect}): please report it."
        return end("set_aside", said, trace=traceback.format_exc())
    return end("scored")


def _result(job: ClipJob, began: float, state: State, reason: str = "", *, trace: str = "") -> ClipResult:
    took_s = time.monotonic() - began
    return ClipResult(number=job.number, state=state, reason=" ".join(reason.split()), took_s=took_s, trace=trace)


@contextmanager
def _tracks(job: ClipJob) -> Iterator[Path]:
    """Give the folder for landmarks: the workspace's, that of the review to be replaced, or a passing one."""
    from cuebook.report.write import TRACK_FOLDER

    if job.cache_dir is not None:
        yield job.cache_dir
    elif (job.folder / TRACK_FOLDER).is_dir():
        yield job.folder / TRACK_FOLDER
    else:
        with TemporaryDirectory() as passing:
            yield Path(passing)


def _judged(job: ClipJob, tracks: Path, report: Reporter) -> ReviewData:
    """Go through the chain in this process, with one thread for pictures and one for decoding."""
    import cv2

    from cuebook.assess.analyse import judge_track
    from cuebook.clip import read_clip

    cv2.setNumThreads(1)
    report("reading")
    clip = read_clip(job.clip, capture_rate_hz=job.capture_rate_hz)
    if clip.sha256 != job.sha256:
        raise ClipError(f"{job.clip.name} changed while the batch was running: start the batch again when it is whole.")
    clip = replace(clip, frames=partial(clip.frames, threads=1))
    return judge_track(
        clip,
        _tracked(job, clip, tracks, report),
        movement=job.movement,
        prescription=job.prescription,
        settings=job.settings,
        margins=job.margins,
        person=None if job.person is None else str(job.person),
    )


def _tracked(job: ClipJob, clip: Clip, tracks: Path, report: Reporter) -> Track:
    """Return the landmarks of the athlete: of the one somebody pointed at, where somebody did."""
    from cuebook.pose import follow_person, track_pose, with_second_opinion

    def told(done: int, total: int) -> None:
        report("reading", done / max(1, total))

    if job.person is not None:
        return follow_person(clip, job.person, backend=job.settings.backend, progress=told, cache_dir=tracks)
    track = track_pose(clip, backend=job.settings.backend, workers=1, progress=told, cache_dir=tracks)
    return with_second_opinion(clip, track, cache_dir=tracks)


def _write(job: ClipJob, data: ReviewData, tracks: Path, report: Reporter) -> None:
    from cuebook.report.write import write_review

    report("writing")
    kept = tracks if job.cache_dir is None else None
    write_review(
        data, job.folder, video=job.video, track_dir=kept, threads=1, progress=lambda share: report("writing", share)
    )
