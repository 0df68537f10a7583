"""Every cue of every repetition, then of the whole set."""

from __future__ import annotations

from cuebook.measures import Occasion, find_measure, full_name
from cuebook.model import (
    Cue,
    Limit,
    Measurement,
    Motion,
    Movement,
    NotMeasurable,
    Prescription,
    Repetition,
    Settings,
    Source,
    Verdict,
)
from cuebook.motion import RIGHT_VIEW_DEG, nearest_view

from .judge import chance_within, count_chance, outcome_of, pooled
from .words import LET_IT_RUN

CUT_SWING = 0.5
"""Share of the smallest swing from which a way that the clip cuts off may be that of a repetition (house choice)."""
VIEW_SLACK_DEG = 8.0
"""Added to the 20 degrees of a right view because the view itself is uncertain; the angle's own uncertainty grows
with it."""
VIEW_WORDS = {
    "side": "straight from the side",
    "front": "straight from the front",
    "back": "straight from behind",
    "oblique-front": "from the front, turned about 40 degrees",
    "oblique-back": "from behind, turned about 40 degrees",
    "head-end": "from beyond the head",
    "foot-end": "from beyond the feet",
}
SEEN_WORDS = {
    "side": "the side",
    "front": "the front",
    "back": "behind",
    "oblique-front": "the front at a slant",
    "oblique-back": "behind at a slant",
    "head-end": "the head end",
    "foot-end": "the foot end",
    "unknown": "an unclear direction",
}

Pair = tuple[int, Measurement]


def judge_repetitions(
    motion: Motion,
    movement: Movement,
    repetitions: tuple[Repetition, ...],
    prescription: Prescription,
    settings: Settings,
    *,
    time_in_doubt: bool = False,
) -> tuple[tuple[Verdict, ...], tuple[Pair, ...]]:
    """Judge each cue of a movement on each repetition.

    Parameters
    ----------
    motion : Motion
        Signals of the clip.
    movement : Movement
        Holds the cues.
    repetitions : tuple of Repetition
        Complete ones are judged; half ones are kept apart.
    prescription : Prescription
        With a prescribed tempo, cues on phase times are left to it.
    settings : Settings
        The deciding chances.
    time_in_doubt : bool
        Whether the clip may be slow motion, so that no time can be judged.

    Returns
    -------
    verdicts : tuple of Verdict
    measurements : tuple of (int, Measurement)
        Repetition number and value.
    """
    verdicts: list[Verdict] = []
    pairs: list[Pair] = []
    for k, rep in enumerate(repetitions):
        if not rep.complete:
            continue
        following = repetitions[k + 1].start_s if k + 1 < len(repetitions) else None
        for cue in judged_cues(movement, prescription):
            for side in sides_of(cue, rep, motion):
                result = take(motion, movement, rep, following, cue, side, time_in_doubt=time_in_doubt)
                verdicts.append(verdict(rep.number, cue, result, settings))
                if isinstance(result, Measurement):
                    pairs.append((rep.number, result))
    return tuple(verdicts), tuple(pairs)


def judged_cues(movement: Movement, prescription: Prescription) -> tuple[Cue, ...]:
    """Return the cues that apply: those on phase times give way to a prescribed tempo."""
    timed = ("eccentric_s", "long_hold_s", "concentric_s", "short_hold_s", "eccentric_concentric_ratio")
    return tuple(c for c in movement.cues if prescription.tempo is None or c.measure not in timed)


def sides_of(cue: Cue, rep: Repetition, motion: Motion) -> tuple[str, ...]:
    """Return the sides on which a cue is judged in one repetition."""
    if not find_measure(cue.measure).sided:
        return (rep.side,)
    if cue.limb == "working" and rep.side != "both":
        return (rep.side,)
    if cue.limb == "other" and rep.side != "both":
        return ("right" if rep.side == "left" else "left",)
    if motion.view.facing in ("left", "right") and motion.view.name == "side":
        return (motion.view.facing,)
    return ("left", "right")


def take(
    motion: Motion,
    movement: Movement,
    rep: Repetition,
    following: float | None,
    cue: Cue,
    side: str,
    *,
    time_in_doubt: bool,
) -> Measurement | NotMeasurable:
    """Take the measure of a cue, or say why the clip cannot show it.

    Parameters
    ----------
    motion, movement, rep
        Where to look.
    following : float or None
        When the next repetition leaves, seconds.
    cue : Cue
        What to take.
    side : {"left", "right", "both"}
        Whose limb.
    time_in_doubt : bool
        Whether times cannot be trusted.
    """
    measure = find_measure(cue.measure)
    name = full_name(measure, cue.event)

    def missing(reason: str, refilm: str = cue.refilm) -> NotMeasurable:
        return NotMeasurable(measure=name, unit=measure.unit, side=side, reason=reason, refilm=refilm)

    if measure.unit in ("s", "ratio") and time_in_doubt:
        return missing("the clip may be slow motion", "Say at what rate it was captured, or film at normal speed.")
    if nearest_view(motion.view, cue.views) > RIGHT_VIEW_DEG + VIEW_SLACK_DEG:
        wanted = " or ".join(VIEW_WORDS[v] for v in cue.views[:2])
        return missing(f"it can be seen only {wanted}, and this clip was filmed from {SEEN_WORDS[motion.view.name]}")
    if measure.sided and motion.view.name == "side" and motion.view.facing not in (side, "none"):
        return missing(
            f"the {side} side is away from the camera", f"Film once more with your {side} side to the phone."
        )
    occasion = Occasion(motion=motion, movement=movement, repetition=rep, next_start_s=following, event=cue.event,
                        side=side, refilm=cue.refilm)  # fmt: skip
    return measure.take(occasion)


def verdict(number: int | None, cue: Cue, result: Measurement | NotMeasurable, settings: Settings) -> Verdict:
    """Turn a measurement, or the lack of one, into a verdict."""
    common = {"repetition": number, "cue": cue.name, "side": result.side, "unit": result.unit, "limit": cue.limit,
              "source": cue.source}  # fmt: skip
    if isinstance(result, NotMeasurable):
        return Verdict(outcome="not_measurable", chance=None, value=None, uncertainty=None, reason=result.reason,
                       refilm=result.refilm, **common)  # fmt: skip
    chance = chance_within(cue.limit, result.value, result.uncertainty)
    return Verdict(
        outcome=outcome_of(chance, settings),
        chance=chance,
        value=result.value,
        uncertainty=result.uncertainty,
        at_s=result.at_s,
        method=result.method,
        **common,
    )


def judge_set(
    movement: Movement,
    prescription: Prescription,
    repetitions: tuple[Repetition, ...],
    verdicts: tuple[Verdict, ...],
    pairs: tuple[Pair, ...],
    settings: Settings,
) -> tuple[Verdict, ...]:
    """Judge each cue on the whole set: the median of the counted repetitions that could be measured.

    At least two of them, and half of the counted ones, must have been measured.

    Returns
    -------
    tuple of Verdict
        One per cue and side, with ``repetition`` None.
    """
    counted = {r.number for r in repetitions if r.counted}
    out = []
    for cue in judged_cues(movement, prescription):
        measure = full_name(find_measure(cue.measure), cue.event)
        of_cue = [v for v in verdicts if v.cue == cue.name and v.repetition in counted]
        for side in sorted({v.side for v in of_cue}) or ["both"]:
            here = [v for v in of_cue if v.side == side]
            numbers = {v.repetition for v in here}
            values = [m for n, m in pairs if n in numbers and m.measure == measure and m.side == side]
            out.append(_set_verdict(cue, side, here, values, settings))
    return tuple(out)


def _set_verdict(cue: Cue, side: str, here: list[Verdict], values: list[Measurement], settings: Settings) -> Verdict:
    unit = find_measure(cue.measure).unit
    common = {"repetition": None, "cue": cue.name, "side": side, "unit": unit, "limit": cue.limit, "source": cue.source,
              "repetitions_met": sum(v.outcome == "met" for v in here), "repetitions_judged": len(values)}  # fmt: skip
    if len(values) < 2 or 2 * len(values) < len(here):
        reason, refilm = _why_no_set(cue, here, len(values))
        return Verdict(
            outcome="not_measurable", chance=None, value=None, uncertainty=None, reason=reason, refilm=refilm, **common
        )
    value, uncertainty = pooled(values)
    chance = chance_within(cue.limit, value, uncertainty)
    return Verdict(outcome=outcome_of(chance, settings), chance=chance, value=value, uncertainty=uncertainty,
                   method=values[0].method, **common)  # fmt: skip


def _why_no_set(cue: Cue, here: list[Verdict], read: int) -> tuple[str | None, str | None]:
    """Return why a cue has no value over the set, in words that fit what was read, and how to film it."""
    lost = next((v for v in here if v.outcome == "not_measurable"), None)
    if not here:
        return "no repetition was counted", cue.refilm
    if lost is None:
        return "only one repetition in the clip shows it", "Film the whole set in one clip."
    if not read:
        return lost.reason, lost.refilm
    few = f"only {read} of {len(here)} repetitions could be read"
    return f"{few}; in the other{'s' if len(here) - read > 1 else ''}, {lost.reason}", lost.refilm


def judge_counts(
    movement: Movement,
    prescription: Prescription,
    repetitions: tuple[Repetition, ...],
    settings: Settings,
    *,
    seen: bool,
) -> tuple[Verdict, ...]:
    """Judge the number of repetitions against the prescription, per side where the movement has sides.

    Parameters
    ----------
    movement, prescription, repetitions, settings
        As elsewhere.
    seen : bool
        Whether the driver could be measured at all.

    Returns
    -------
    tuple of Verdict
        Empty without a prescribed number.
    """
    if prescription.repetitions is None:
        return ()
    limit = Limit(low=float(prescription.repetitions), high=None)
    source = Source(kind="house", text="The number the coach asked for.")
    if movement.sides == "both":
        sides = ("both",)
    elif prescription.side is not None:
        sides = (prescription.side,)
    elif movement.sides == "one":
        sides = tuple(sorted({r.side for r in repetitions if r.counted})) or ("both",)
    else:
        sides = ("left", "right")
    out = []
    for side in sides:
        of_side = [r for r in repetitions if r.side in (side, "both") or side == "both"]
        common = {"repetition": None, "cue": "repetitions", "side": side, "unit": "1", "limit": limit, "source": source}
        if not seen or (side != "both" and not of_side and any(r.counted for r in repetitions)):
            reason = "no repetition of this side is in the clip" if seen else "the moving joint could not be followed"
            card = f"Film with the phone {movement.filming[0].place}." if movement.filming else "Film the whole body."
            refilm = f"Film the {side} side too." if seen else card
            verdict = Verdict(
                outcome="not_measurable",
                chance=None,
                value=None,
                uncertainty=None,
                reason=reason,
                refilm=refilm,
                **common,
            )
            out.append(verdict)
            continue
        counted, cut = sum(r.counted for r in of_side), sum(is_cut(r, movement) for r in of_side)
        if counted < prescription.repetitions <= counted + cut:
            verdict = Verdict(outcome="not_measurable", chance=None, value=None, uncertainty=None,
                              reason="the clip begins or ends within a repetition", refilm=LET_IT_RUN,
                              **common)  # fmt: skip
            out.append(verdict)
            continue
        chances = [r.chance for r in of_side]
        chance = count_chance(chances, prescription.repetitions)
        spread = sum(p * (1.0 - p) for p in chances) ** 0.5
        out.append(
            Verdict(
                outcome=outcome_of(chance, settings),
                chance=chance,
                value=float(sum(r.counted for r in of_side)),
                uncertainty=spread,
                method="driver",
                **common,
            )
        )
    return tuple(out)


def is_cut(rep: Repetition, movement: Movement) -> bool:
    """Return whether the clip begins or ends within a repetition, so that nobody can tell whether it was done."""
    return (rep.start_s is None or rep.end_s is None) and rep.swing >= CUT_SWING * movement.driver.min_swing
