"""Reviews made of a drawn stick figure, for the tests of the report: every outcome, every kind of gap."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from cuebook.model import (
    LANDMARKS,
    Clip,
    Cue,
    Doubt,
    Driver,
    FilmingCard,
    Headline,
    Limit,
    Measurement,
    Motion,
    Movement,
    Prescription,
    Repetition,
    ReviewData,
    Settings,
    Signal,
    Source,
    Tempo,
    TempoResult,
    Track,
    Variant,
    Verdict,
    View,
)

RATE_HZ = 15.0
REP_S = 6.0
DEPTHS = (108.0, 104.0, 92.0, 84.0)
HOUSE = Source(kind="common_practice", text="Thighs near level is what most coaches ask for.")
ASK_SIDE = "Put the phone at hip height, level with your side, three steps away."


def knee_curve(times_s: np.ndarray, depths: tuple[float, ...] = DEPTHS) -> np.ndarray:
    """Knee flexion (F,) in degrees: 1 s still, then per repetition 3 s down, 1 s hold, 1 s up, 1 s still."""
    angle = np.full(times_s.shape, 8.0)
    for i, depth in enumerate(depths):
        t = times_s - 1.0 - i * REP_S
        down = (1 - np.cos(np.clip(t / 3.0, 0, 1) * np.pi)) / 2
        rise = (1 - np.cos(np.clip((t - 4.0) / 1.0, 0, 1) * np.pi)) / 2
        angle += (depth - 8.0) * (down - rise) * (t >= 0)
    return angle


def body(knee_deg: float, width: int, height: int) -> dict[str, tuple[float, float]]:
    """Landmarks of a side view facing left, in pixels."""
    unit = 0.21 * min(height, 1.6 * width)
    shank, thigh = np.radians(0.32 * knee_deg), np.radians(0.68 * knee_deg)
    lean = np.radians(0.38 * knee_deg)
    ankle = np.array([0.52 * width, 0.9 * height])
    knee = ankle + unit * np.array([-np.sin(shank), -np.cos(shank)])
    hip = knee + 1.02 * unit * np.array([np.sin(thigh), -np.cos(thigh)])
    shoulder = hip + 1.2 * unit * np.array([-np.sin(lean), -np.cos(lean)])
    elbow = shoulder + 0.65 * unit * np.array([-0.8, 0.5])
    wrist = elbow + 0.55 * unit * np.array([-0.9, -0.3])
    head = shoulder + 0.45 * unit * np.array([-np.sin(lean) - 0.12, -np.cos(lean)])
    near = {"ankle": ankle, "knee": knee, "hip": hip, "shoulder": shoulder, "elbow": elbow, "wrist": wrist,
            "heel": ankle + unit * np.array([0.14, 0.09]), "foot_index": ankle + unit * np.array([-0.42, 0.1]),
            "pinky": wrist, "index": wrist, "thumb": wrist, "ear": head, "eye": head, "eye_inner": head,
            "eye_outer": head}  # fmt: skip
    marks = {}
    for name in LANDMARKS:
        part = name.removeprefix("left_").removeprefix("right_")
        point = near.get(part, head + unit * np.array([-0.14, 0.04]))
        marks[name] = tuple(point + (np.array([0.05, -0.02]) * unit if name.startswith("right_") else 0.0))
    return marks


def picture(marks: dict[str, tuple[float, float]] | None, width: int, height: int) -> np.ndarray:
    """A room with a drawn figure in it, (H, W, 3) uint8 RGB."""
    import cv2

    frame = np.empty((height, width, 3), np.uint8)
    frame[:] = (196, 190, 182)
    frame[int(0.9 * height) :] = (150, 132, 112)
    if marks is None:
        return frame
    chains = (("shoulder", "hip", (60, 84, 106), 0.11), ("hip", "knee", (52, 52, 62), 0.085),
              ("knee", "ankle", (176, 132, 108), 0.06), ("ankle", "foot_index", (230, 230, 226), 0.05),
              ("shoulder", "elbow", (60, 84, 106), 0.055), ("elbow", "wrist", (176, 132, 108), 0.045))  # fmt: skip
    for side, shade in (("right", 0.8), ("left", 1.0)):
        for a, b, colour, thick in chains:
            p, q = (tuple(round(v) for v in marks[f"{side}_{n}"]) for n in (a, b))
            ink = tuple(int(c * shade) for c in colour)
            cv2.line(frame, p, q, ink, max(2, int(thick * 0.62 * min(height, 1.6 * width))), cv2.LINE_AA)
    centre = tuple(int(v) for v in marks["left_ear"])
    cv2.circle(frame, centre, int(0.05 * min(height, 1.6 * width)), (176, 132, 108), -1, cv2.LINE_AA)
    return frame


def make_clip(path: Path, times_s: np.ndarray, marks: list, width: int, height: int) -> Clip:
    """A clip whose frames are drawn on demand."""

    def frames(long_side_px: int | None = None, start: int = 0, stop: int | None = None):
        scale = 1.0 if long_side_px is None else min(1.0, long_side_px / max(width, height))
        w, h = (max(2, round(v * scale / 2) * 2) for v in (width, height))
        for i in range(start, len(times_s) if stop is None else min(stop, len(times_s))):
            seen = marks[i]
            scaled = None if seen is None else {k: (x * w / width, y * h / height) for k, (x, y) in seen.items()}
            yield float(times_s[i]), picture(scaled, w, h)

    return Clip(path=path, sha256="ab" * 32, times_s=times_s, width_px=width, height_px=height, rotation_deg=0,
                nominal_rate_hz=RATE_HZ, variable_rate=False, capture_rate_hz=None, slow_motion=False, codec="h264",
                warnings=(), frames=frames)  # fmt: skip


def make_track(times_s: np.ndarray, marks: list, width: int, height: int) -> Track:
    """The landmarks of the drawn figure as a backend would give them."""
    count = len(times_s)
    xy = np.full((count, len(LANDMARKS), 2), np.nan)
    for i, row in enumerate(marks):
        if row is not None:
            xy[i] = [row[name] for name in LANDMARKS]
    seen = np.isfinite(xy[:, :, 0])
    world = np.where(seen[..., None], np.dstack([xy / height, np.zeros((count, len(LANDMARKS)))]), np.nan)
    return Track(times_s=times_s, xy_px=xy, world_m=world, score=np.where(seen, 0.95, np.nan),
                 light=np.full(count, 0.6), width_px=width, height_px=height, backend="mediapipe-full",
                 backend_version="0.10.21")  # fmt: skip


def make_movement(*, sides: str = "both") -> Movement:
    """A squat with three cues: one by the side view, one measured as a time, one that needs the front view."""
    cues = (
        Cue(name="depth", measure="knee_flexion", event="turn", limb="working", limit=Limit(low=95.0, high=None),
            target="100 degrees or more", margin=5.0, say="Sit until your thighs are level with the floor.",
            praise="You reached full depth.", why="Depth trains the whole range.", priority=1, views=("side",),
            refilm=ASK_SIDE, source=HOUSE),
        Cue(name="lower-slowly", measure="eccentric_s", event="phase", limb="both", limit=Limit(low=2.5, high=None),
            target="3 s", margin=0.5, say="Take three seconds on the way down.", praise="You lowered with control.",
            why="Slow lowering builds control.", priority=2, views=("side",), refilm=ASK_SIDE, source=HOUSE),
        Cue(name="knees-apart", measure="knee_separation", event="turn", limb="both", limit=Limit(low=0.9, high=None),
            target="as wide as the feet", margin=0.1, say="Push the floor apart.", praise="Your knees stayed wide.",
            why="It keeps the foot flat.", priority=3, views=("front",),
            refilm="Put the phone at knee height straight in front of you, four steps away.", source=HOUSE),
    )  # fmt: skip
    side_card = FilmingCard(view="side", place="level with your side", height="hip height", distance="three steps away",
                            orientation="upright", check="head and feet stay in the picture")  # fmt: skip
    front_card = replace(side_card, view="front", place="straight in front of you", height="knee height")
    driver = Driver(signal="knee_flexion", first="eccentric", turn="high", min_swing=50.0, rep_s=(1.0, 20.0))
    return Movement(name="squat", title="Squat", family="standing", patterns=("squat",), sides=sides, driver=driver,
                    views=("side",), cues=cues, faults=("heels lift",), easier=(Variant(name="box squat", how="sit"),),
                    harder=(), substitutes=("rucksack",), filming=(side_card, front_card),
                    cautions=("Hold on to a door frame if you feel unsteady.",), source=HOUSE,
                    long_end="thighs level", short_end="standing tall")  # fmt: skip


def make_motion(times_s: np.ndarray, knee: np.ndarray, *, found: float, view: View, doubts: tuple) -> Motion:
    """Signals of the near (left) leg; the far leg is not measurable."""

    def signal(name: str, values: np.ndarray, why: str | None = None) -> Signal:
        spread = np.where(np.isfinite(values), 2.0, np.nan)
        return Signal(name=name, times_s=times_s, values=values, noise=spread, shared=1.5 * spread, unit="deg",
                      method="image plane", why_not=why, refilm=None if why is None else ASK_SIDE)  # fmt: skip

    blank = np.full_like(knee, np.nan)
    hidden = "the far leg is hidden behind the near one"
    seen = view.name == "side" and found > 0
    signals = [signal("left_knee_flexion", knee if seen else blank, None if seen else "filmed from the front"),
               signal("right_knee_flexion", blank, hidden),
               signal("left_hip_flexion", 0.9 * knee if seen else blank), signal("right_hip_flexion", blank, hidden),
               signal("trunk_inclination", 0.38 * knee if seen else blank)]  # fmt: skip
    return Motion(times_s=times_s, signals={s.name: s for s in signals}, view=view, doubts=doubts, found_fraction=found)


def make_repetition(number: int, side: str = "both", *, last: bool = False) -> Repetition:
    """The repetition of that number by the definition of `knee_curve`."""
    start = 1.0 + (number - 1) * REP_S
    phases = {"eccentric": 2.6, "long_hold": 1.2, "concentric": 0.9, "short_hold": None if last else 1.3}
    return Repetition(number=number, side=side, start_s=start + 0.2, turn_s=start + 3.5, end_s=start + REP_S + 0.2,
                      complete=True, counted=True, chance=1.0, phases=phases,
                      phases_u={k: None if v is None else 0.06 for k, v in phases.items()},
                      edges=(start + 0.2, start + 2.8, start + 4.1, start + 4.95), swing=90.0)  # fmt: skip


def verdict(cue: Cue, repetition: int | None, value: float | None, chance: float, **more: object) -> Verdict:
    """A verdict by the outcome rule, or a not measurable one when there is no value."""
    unit = {"knee_flexion": "deg", "eccentric_s": "s"}.get(cue.measure, "ratio")
    common = {"repetition": repetition, "cue": cue.name, "side": "left" if unit == "deg" else "both", "unit": unit,
              "limit": cue.limit, "source": cue.source}  # fmt: skip
    if value is None:
        reason = more.pop("reason", "filmed from the side")
        return Verdict(**common, outcome="not_measurable", chance=None, value=None, uncertainty=None,
                       reason=reason, refilm=cue.refilm)  # fmt: skip
    outcome = "met" if chance >= 0.9 else "not_met" if chance <= 0.1 else "near"
    return Verdict(**common, outcome=outcome, chance=chance, value=value, method="image plane",
                   uncertainty=4.0 if unit == "deg" else 0.06, **more)  # fmt: skip


def make_verdicts(movement: Movement, repetitions: tuple[Repetition, ...], *, judged: bool, reason: str) -> tuple:
    """Per repetition, then for the set."""
    from math import erf

    depth, slow, apart = movement.cues
    found = []
    for rep in repetitions:
        value = DEPTHS[rep.number - 1]
        chance = 0.5 * (1 + erf((value - 95.0) / 4.0 / 2**0.5))
        found += [verdict(depth, rep.number, value if judged else None, chance, at_s=rep.turn_s)
                  if judged else verdict(depth, rep.number, None, 0.0, reason=reason),
                  verdict(slow, rep.number, 2.6, 0.95, at_s=rep.start_s) if judged
                  else verdict(slow, rep.number, None, 0.0, reason=reason),
                  verdict(apart, rep.number, None, 0.0)]  # fmt: skip
    if not repetitions or not judged:
        return tuple(found) + tuple(verdict(c, None, None, 0.0, reason=reason) for c in movement.cues)
    pooled = float(np.median(DEPTHS[: len(repetitions)]))
    return (*found, verdict(depth, None, pooled, 0.76, repetitions_met=2, repetitions_judged=4),
            verdict(slow, None, 2.6, 0.95, repetitions_met=4, repetitions_judged=4),
            verdict(apart, None, None, 0.0))  # fmt: skip


def make_tempo(prescribed: bool, measured: bool) -> TempoResult:
    """The phases over the set."""
    names = ("eccentric", "long_hold", "concentric", "short_hold")
    median = dict(zip(names, (2.6, 1.2, 0.9, 1.3), strict=True)) if measured else dict.fromkeys(names)
    outcomes = dict(zip(names, ("met", "met", "met", "not_met"), strict=True))
    if not measured:
        outcomes = dict.fromkeys(names, "not_measurable")
    return TempoResult(median=median, median_u=dict.fromkeys(names, 0.04 if measured else None),
                       outside=dict.fromkeys(names, 0.25 if measured and prescribed else None),
                       outcomes=outcomes if prescribed else {},
                       reasons={} if measured else dict.fromkeys(names, "no repetition was found"),
                       drift_ratio=0.82 if measured else None, drift_ratio_u=0.05 if measured else None,
                       drift_outcome="met" if measured and prescribed else None)  # fmt: skip


def make_review(path: Path = Path("squat.mp4"), *, width: int = 360, height: int = 640, found: bool = True,
                view_name: str = "side", sides: str = "both", doubtful: bool = False,
                prescribed: bool = True) -> ReviewData:  # fmt: skip
    """One judged clip of the drawn figure.

    `found` False leaves the room empty; a `view_name` other than side leaves everything unmeasurable; `sides` "one"
    makes it a one-sided movement of the left leg; `doubtful` adds a stretch in doubt and a warning.
    """
    times = np.arange(int((1.5 + len(DEPTHS) * REP_S) * RATE_HZ)) / RATE_HZ
    knee = knee_curve(times)
    marks = [body(k, width, height) if found else None for k in knee]
    view = View(name=view_name if found else "unknown", facing="left" if found else "none", azimuth_deg=85.0,
                off_axis_deg=5.0, uncertainty_deg=4.0)  # fmt: skip
    lost = ("left_knee", "left_ankle", "left_heel", "left_foot_index")
    doubt = Doubt(
        start_s=4.1, end_s=4.9, what="left leg", reason="it looked up to 24 % shorter than it is", landmarks=lost
    )
    doubts = (doubt,) if doubtful else ()
    movement = make_movement(sides=sides)
    judged = found and view_name == "side"
    side = "left" if sides == "one" else "both"
    reps = tuple(make_repetition(i + 1, side, last=i + 1 == len(DEPTHS)) for i in range(len(DEPTHS) if judged else 0))
    reason = f"filmed from the {view_name}" if found else "nobody was found in the picture"
    clip = make_clip(path, times, marks, width, height)
    measured = tuple((r.number, Measurement(measure="knee_flexion_at_turn", value=DEPTHS[r.number - 1], noise=2.0,
                                            shared=3.0, unit="deg", side=s, at_s=r.turn_s, method="image plane"))
                     for r in reps for s in ("left",))  # fmt: skip
    next_step = "Same load on Thursday, then send reps 3 and 4 again."
    headline = Headline(praise="Thank you for the clip.", fix="Nothing could be judged yet.", next=ASK_SIDE)
    if judged:
        headline = Headline(praise="You lowered with control.", fix="Sit until your thighs are level.", next=next_step)
    return ReviewData(
        clip=clip, track=make_track(times, marks, width, height),
        motion=make_motion(times, knee, found=1.0 if found else 0.0, view=view, doubts=doubts), movement=movement,
        prescription=Prescription(tempo=Tempo(eccentric=3, long_hold=1, concentric="X", short_hold=0) if prescribed
                                  else None, repetitions=8, side="left" if sides == "one" else None),
        settings=Settings(), repetitions=reps, measurements=measured,
        verdicts=make_verdicts(movement, reps, judged=judged, reason=reason), tempo=make_tempo(prescribed, judged),
        counts={"prescribed": 8, "left": len(reps) if sides == "one" else None, "right": None,
                "both": len(reps) if sides == "both" else None, "incomplete": 0},
        headline=headline, warnings=("The picture is dark: put a lamp in front of you.",) if doubtful else (),
        side_proven=False, cuebook_version="0.1.0",
    )  # fmt: skip


def alternating(review: ReviewData) -> ReviewData:
    """The same clip as if left and right had worked in turn, the right knee seen as well, 20 degrees less bent."""
    sides = ("left", "right", "left", "right")
    left = review.motion.signals["left_knee_flexion"]
    right = replace(left, name="right_knee_flexion", values=left.values - 20.0)
    return replace(
        review,
        motion=replace(review.motion, signals={**review.motion.signals, right.name: right}),
        movement=replace(review.movement, sides="alternating"),
        repetitions=tuple(replace(r, side=s) for r, s in zip(review.repetitions, sides, strict=True)),
        verdicts=tuple(
            replace(v, side=sides[v.repetition - 1]) if v.cue == "depth" and v.repetition else v
            for v in review.verdicts
        ),
    )
