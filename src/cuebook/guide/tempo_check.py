"""The athlete's tempo check in a notebook."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cuebook.errors import CuebookError, ModelError
from cuebook.model import PHASES, Movement, Prescription, ReviewData, Tempo
from cuebook.movements import find_workspace, load_movement, prescribe, read_settings
from cuebook.movements.cautions import CAUTION

from .beats import COUNT_IN_S
from .incoming import Incoming
from .plan import set_plan

if TYPE_CHECKING:
    import pandas as pd

    from .widget import TempoView

log = logging.getLogger(__name__)

CLIPS = "tempo-clips"
"""Folder for clips that were filmed or chosen in the browser, unless another one is named."""
USUAL_REPETITIONS = 8
"""How many are guided where no number is asked for (common practice, no source)."""


class TempoCheck:
    """A prescribed set: guided before it is lifted, measured after it was filmed.

    Shown as the last line of a cell it is the guide, with a way to film or choose the clip there; shown once a clip was
    measured it is the bars of every repetition.

    Attributes
    ----------
    plan : dict
        Beats, words and bands of the set.
    data : ReviewData or None
        What was measured, after :meth:`measure`.
    """

    def __init__(self, movement: Movement, prescription: Prescription, plan: dict[str, Any], *, clips: Path) -> None:
        self.plan = plan
        self.data: ReviewData | None = None
        self._movement, self._prescription = movement, prescription
        self._view: TempoView | None = None
        self._bars: TempoView | None = None
        self._incoming = Incoming(clips)
        self._work = ThreadPoolExecutor(max_workers=1, thread_name_prefix="tempo")

    def measure(
        self,
        clip: str | Path,
        *,
        mirrored: Literal["yes", "no", "unknown"] = "unknown",
        capture_rate_hz: float | None = None,
        person: str | None = None,
        progress: Callable[[float], None] | None = None,
    ) -> TempoCheck:
        """Measure the phases in a clip of the set.

        Parameters
        ----------
        clip : str or Path
            The clip.
        mirrored : {"yes", "no", "unknown"}
            Whether the camera made a mirror picture.
        capture_rate_hz : float, optional
            Rate at which a slow-motion clip was taken, frames per second.
        person : str, optional
            A point on the athlete as ``"X,Y@T"``, where two people are in the picture.
        progress : callable, optional
            Called with the share done, 0 to 1.

        Returns
        -------
        TempoCheck
            Itself, so that the cell shows it.

        Raises
        ------
        ClipError
            If the file cannot be used as a clip.
        PoseError
            If the pose backend is missing or broken, or the person pointed at cannot be followed.
        """
        from cuebook.assess.analyse import review_clip
        from cuebook.pose import parse_pointed

        workspace = find_workspace(Path(clip).resolve().parent)
        settings, margins = read_settings(workspace)
        self.data = review_clip(
            clip,
            movement=self._movement,
            prescription=self._prescription,
            settings=replace(settings, mirrored=mirrored),
            margins=margins,
            capture_rate_hz=capture_rate_hz,
            cache_dir=None if workspace is None else workspace / "cache",
            person=None if person is None else parse_pointed(person),
            progress=progress,
        )
        for shown in (self._view, self._bars):
            if shown is not None:
                shown.measured = self._measured()
        return self

    @property
    def view(self) -> TempoView:
        """The guide, with the bars below it once a clip was measured."""
        if self._view is None:
            from .widget import TempoView

            self._view = TempoView(plan=self.plan, measured=self._measured())
            self._view.on_msg(self._heard)
        return self._view

    @property
    def bars(self) -> TempoView:
        """The measured bars alone.

        Raises
        ------
        ModelError
            If no clip was measured yet.
        """
        if self.data is None:
            raise ModelError("No clip was measured yet: call measure('clip.mp4') first.")
        if self._bars is None:
            from .widget import TempoView

            self._bars = TempoView(plan=self.plan, measured=self._measured(), guided=False)
        return self._bars

    @property
    def sentence(self) -> str:
        """One sentence on the measured set; empty before :meth:`measure`."""
        from cuebook.report.words import tempo_sentence

        return "" if self.data is None else tempo_sentence(self.data)

    def table(self) -> pd.DataFrame:
        """Return seconds and standard uncertainty of every phase, one row per counted repetition.

        Raises
        ------
        ModelError
            If no clip was measured yet.
        """
        import pandas as pd

        if self.data is None:
            raise ModelError("No clip was measured yet: call measure('clip.mp4') first.")
        rows = [
            {"repetition": r.number, "side": r.side}
            | {f"{p}_s": r.phases[p] for p in PHASES}
            | {f"{p}_u_s": r.phases_u[p] for p in PHASES}
            for r in self.data.repetitions
            if r.counted
        ]
        return pd.DataFrame(rows)

    def _heard(self, view: TempoView, message: Mapping[str, Any], buffers: list) -> None:
        """Take a clip that was filmed or chosen in the browser, and measure it when it is whole."""
        if message.get("type") != "clip":
            return
        try:
            clip = self._incoming.piece(message, bytes(buffers[0]))
        except CuebookError as error:
            view.measuring = str(error)
            return
        if clip is not None:
            view.measuring = f"Measuring {clip.name}."
            self._work.submit(self._measure_shown, view, clip)

    def _measure_shown(self, view: TempoView, clip: Path) -> None:
        """Measure in the background; how it ended stands on the screen."""
        told = -1

        def tell(share: float) -> None:
            nonlocal told
            if round(20 * share) != told:
                told = round(20 * share)
                view.measuring = f"Measuring {clip.name}: {share:.0%}."

        try:
            self.measure(clip, progress=tell)
            view.measuring = f"The clip is kept as {clip.parent.name}/{clip.name} on this machine."
        except CuebookError as error:
            view.measuring = str(error)
        except Exception as error:  # a thread would swallow it; the athlete waits for an answer
            log.exception("the clip could not be measured")
            view.measuring = f"{clip.name} could not be measured ({type(error).__name__}: {error})."

    def _measured(self) -> dict[str, Any]:
        if self.data is None:
            return {}
        return {
            "clip": self.data.clip.path.name,
            "sentence": self.sentence,
            "lines": [*self._drift_words(), *dict.fromkeys(self.data.warnings)],
            "repetitions": [self._times(r) for r in self.data.repetitions if r.counted],
        }

    def _times(self, repetition: Any) -> dict[str, dict[str, float]]:
        """Return the phases of one repetition; a prescribed pause as the gap on which it is judged."""
        out = {}
        for phase in PHASES:
            asked_hold = phase.endswith("hold") and self.plan["slots"][phase]["seconds"] >= 0.5
            value = repetition.gaps.get(phase) if asked_hold else repetition.phases[phase]
            u = repetition.phases_u[phase]
            if value is not None and u is not None:
                out[phase] = {"seconds": float(value), "u": float(u)}
        return out

    def _drift_words(self) -> list[str]:
        tempo = self.data.tempo if self.data is not None else None
        if tempo is None or tempo.drift_ratio is None:
            return []
        share, u = 100 * tempo.drift_ratio, 100 * (tempo.drift_ratio_u or 0.0)
        return [f"The lowering of the last reps took {share:.0f} ± {u:.0f} % of the time of the first ones."]

    def __repr__(self) -> str:
        state = "not measured yet" if self.data is None else self.sentence
        return f"TempoCheck({self.plan['summary']} {state})"

    def _repr_html_(self) -> str:
        text = [f"<p><b>{escape(self.plan['summary'])}</b></p>"]
        if self.data is not None:
            text += [f"<p>{escape(self.sentence)}</p>", self.table().round(2).to_html(index=False, na_rep="")]
        return "".join((*text, f"<p><small>{escape(CAUTION)}</small></p>"))

    def _repr_mimebundle_(self, **options: Any) -> Any:
        shown = (self.view if self.data is None else self.bars)._repr_mimebundle_(**options)
        plain = {"text/html": self._repr_html_(), "text/plain": repr(self)}
        if isinstance(shown, tuple):
            return plain | shown[0], shown[1]
        return plain | (shown or {})


def tempo_check(
    clip: str | Path | None = None,
    *,
    movement: str | Path | Movement,
    tempo: str | Tempo,
    repetitions: int | None = None,
    side: Literal["left", "right"] | None = None,
    mirrored: Literal["yes", "no", "unknown"] = "unknown",
    capture_rate_hz: float | None = None,
    person: str | None = None,
    count_in_s: int = COUNT_IN_S,
    clips: str | Path = CLIPS,
) -> TempoCheck:
    """Guide a set by sound and bar, and measure its tempo in a clip.

    Parameters
    ----------
    clip : str or Path, optional
        A clip of the set; without it only the guide is shown and `TempoCheck.measure` takes the clip later.
    movement : str, Path or Movement
        Name in the library or in the workspace, a movement file, or a movement.
    tempo : str or Tempo
        Prescribed tempo such as ``"3-1-1-0"``.
    repetitions : int, optional
        How many, per side where the movement has sides; 8 are guided if none is given.
    side : {"left", "right"}, optional
        The side that was asked for.
    mirrored : {"yes", "no", "unknown"}
        Whether the camera made a mirror picture.
    capture_rate_hz : float, optional
        Rate at which a slow-motion clip was taken, frames per second.
    person : str, optional
        A point on the athlete as ``"X,Y@T"`` (pixels from the top left, seconds), where two people are in the picture.
    count_in_s : int
        Seconds counted down before the first repetition.
    clips : str or Path
        Folder for clips that are filmed or chosen in the browser; made when the first one comes.

    Returns
    -------
    TempoCheck

    Raises
    ------
    ClipError
        If the file cannot be used as a clip.
    MovementError, UnknownName
        If the movement cannot be found or its file is not valid.
    TempoError
        If the tempo cannot be read.
    ModelError
        If the count-in or the number of repetitions is out of range.
    """
    workspace = find_workspace((Path(clip) if clip is not None else Path.cwd() / "clip").resolve().parent)
    chosen = movement if isinstance(movement, Movement) else load_movement(movement, workspace=workspace)
    asked = prescribe(chosen, tempo=tempo, repetitions=repetitions, side=side)
    prescribed = asked.tempo
    if prescribed is None:
        raise ModelError("A tempo check needs a tempo such as '3-1-1-0'.")
    settings, margins = read_settings(workspace)
    plan = set_plan(
        chosen,
        prescribed,
        repetitions or USUAL_REPETITIONS,
        count_in_s=count_in_s,
        margins=margins,
        settings=settings,
    )
    check = TempoCheck(chosen, asked, plan, clips=Path(clips))
    if clip is None:
        return check
    return check.measure(clip, mirrored=mirrored, capture_rate_hz=capture_rate_hz, person=person)
