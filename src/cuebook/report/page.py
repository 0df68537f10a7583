"""The feedback page: one file, readable on a phone, on paper and without colour."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from cuebook.model import ReviewData
from cuebook.movements.cautions import CAUTION, STOP_AND_GET_HELP, STOP_AND_TELL_THE_COACH

from .blocks import cue_blocks, filming_cards, missing_blocks, outcome_table, phase_table
from .choice import judged_signal, main_cue
from .corrected import correction_lines
from .stills import Still
from .trace import trace_svg
from .words import (
    OUTCOME_LONG,
    OUTCOME_MARKS,
    VIEW_WORDS,
    limit_words,
    measure_words,
    set_words,
    verdict_words,
    with_uncertainty,
)


@lru_cache(maxsize=1)
def environment() -> Any:
    """Return the templates of this folder, loaded once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    loader = PackageLoader("cuebook.report", "static")
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


def feedback_page(data: ReviewData, stills: Sequence[Still], *, athlete: str | None = None) -> str:
    """Return the feedback page as HTML text that needs no other file.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    stills : sequence of Still
        Pictures from `make_stills`.
    athlete : str or None
        Whom it is for, shown at the top.
    """
    from markupsafe import Markup

    style, _, _ = environment().loader.get_source(environment(), "feedback.css")
    cue = main_cue(data)
    signal = judged_signal(data, cue)
    template = environment().get_template("feedback.html.j2")
    return template.render(
        style=Markup(style),
        athlete=athlete,
        data=data,
        subtitle=set_words(sum(r.counted for r in data.repetitions), data.motion.view.name),
        stills=[_picture(data, s) for s in stills],
        trace=None if signal is None else Markup(trace_svg(data, signal, cue)),
        trace_name=None if signal is None else _signal_words(signal.name),
        trace_joined=signal is not None and _joined(data, signal.name),
        trace_unsure=signal is not None and not signal.written.any(),
        cues=cue_blocks(data),
        phases=phase_table(data),
        outcomes=outcome_table(data),
        missing=missing_blocks(data),
        cards=[c | {"plan": Markup(c["plan"])} for c in filming_cards(data)],
        warnings=list(dict.fromkeys((*data.clip.warnings, *data.warnings))),
        corrected=correction_lines(data),
        doubts=[f"{d.what}, {d.start_s:.1f} to {d.end_s:.1f} s: {d.reason}" for d in data.motion.doubts],
        legend=[(OUTCOME_MARKS[k], OUTCOME_LONG[k], text) for k, text in _legend(data)],
        facts=_facts(data),
        caution=CAUTION,
        stop_and_get_help=STOP_AND_GET_HELP,
        stop_and_tell=STOP_AND_TELL_THE_COACH,
    )


def _signal_words(name: str) -> str:
    side = next((s for s in ("left", "right") if name.startswith(f"{s}_")), None)
    words = measure_words(name.removeprefix(f"{side}_"))
    return f"{side} {words}" if side else words


def _joined(data: ReviewData, name: str) -> bool:
    """Return whether a drawn signal shows another side in every repetition."""
    return name not in data.motion.signals


def _picture(data: ReviewData, still: Still) -> dict[str, Any]:
    verdict = still.verdict
    value = with_uncertainty(verdict.value or 0.0, verdict.uncertainty or 0.0, verdict.unit)
    asked = limit_words(verdict.limit, verdict.unit)
    what = measure_words(still.cue.measure, data.movement)
    return {
        "source": "data:image/jpeg;base64," + b64encode(still.jpeg).decode("ascii"),
        "width": still.width_px,
        "height": still.height_px,
        "title": still.cue.heading,
        "mark": OUTCOME_MARKS[verdict.outcome],
        "outcome": OUTCOME_LONG[verdict.outcome],
        "caption": f"Rep {still.repetition.number}: {what} {value}, asked {asked}",
        "alt": f"Repetition {still.repetition.number}, the athlete with the measured angle drawn: "
        f"{still.cue.heading}: {verdict_words(verdict)}",
    }


def _legend(data: ReviewData) -> list[tuple[str, str]]:
    met, not_met = (f"{100 * v:.0f} %" for v in (data.settings.met_at, data.settings.not_met_at))
    return [
        ("met", f"the chance that the limit holds is {met} or more."),
        ("near", f"measured, but the chance lies between {not_met} and {met}; the camera cannot tell."),
        ("not_met", f"the chance is {not_met} or less."),
        ("not_measurable", "the clip does not show it, which is no fault of the athlete."),
    ]


def _facts(data: ReviewData) -> list[str]:
    """Return what a coach needs to know of the clip and its reading."""
    clip, view = data.clip, data.motion.view
    facts = [f"clip {clip.path.name}, {clip.duration_s:.1f} s, {clip.width_px} x {clip.height_px} pixels"]
    if view.name != "unknown":
        near = f", {view.facing} side towards the camera" if view.facing in ("left", "right") else ""
        facts.append(f"view: {VIEW_WORDS[view.name]}{near}, known to {view.uncertainty_deg:.0f}°")
    if not data.side_proven:
        facts.append("left and right are as the picture shows them; the clip does not prove that it is not mirrored")
    if data.motion.found_fraction < 0.995:
        facts.append(f"a person was found in {100 * data.motion.found_fraction:.0f} % of the pictures")
    if data.track.others_seen:
        facts.append("a second person was seen in the picture")
    if data.prescription.tempo is not None:
        facts.append(f"asked tempo {data.prescription.tempo}")
    facts.append(f"made by cuebook {data.cuebook_version} with {data.settings.backend}")
    return facts
