"""A reference clip for a group: one model repetition with its count, three key stills, and how to film one's own."""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from cuebook.assess.words import is_rest, phase_words
from cuebook.clip import VideoWriter
from cuebook.errors import ModelError
from cuebook.model import Repetition, ReviewData, Signal
from cuebook.movements.cautions import CAUTION, STOP_AND_GET_HELP, STOP_AND_TELL_THE_COACH

from .angle_mark import angle_mark, draw_angle, unsigned
from .annotated import LONG_SIDE_PX, annotated_size, kept_frames
from .blocks import filming_cards
from .choice import base_measure, is_angle, main_cue, signal_of, signal_side
from .count_band import CountBand
from .feedback_draft import identity_of, number_of
from .folder import write_folder
from .marks import marks_at
from .moment import phase_order
from .overlay import Overlay, doubtful_at, near_side
from .page import environment
from .skeleton import draw_skeleton
from .stills import athlete_at, encode_jpeg
from .words import VIEW_WORDS, measure_words, prescribed_text, seconds_text, with_uncertainty

MARK = "reference.json"
LEAD_S, TRAIL_S = 0.6, 0.4
"""Room before the repetition, to get ready, and after it."""
READ_WITHIN_S = 0.09
POSITIONS: tuple[str, ...] = ("start", "turn", "end")
MOST_SENTENCES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyPosition:
    """One key position: its name, when, and the angles there with their standard uncertainty, degrees."""

    name: str
    at_s: float
    angles: Mapping[str, tuple[float, float]]


def write_reference(data: ReviewData, folder: str | Path, *, repetition: str | int, sentences: Sequence[str] = (),
                    positions: Mapping[str, float] | None = None, credit: str = "", consent: str = "",
                    who: str = "") -> Path:  # fmt: skip
    """Write the reference clip of a model repetition into a folder, all of it or nothing, and return the folder.

    Parameters
    ----------
    data : ReviewData
        The review with its corrections.
    folder : str or Path
        Where to; an existing folder is replaced only if it holds a reference.
    repetition : str or int
        Identity of the model repetition, or its number as it stands.
    sentences : sequence of str
        Up to three cues to think of; default: that of the main cue.
    positions : mapping of str to float, optional
        When ``start``, ``turn`` and ``end`` are shown, seconds; default: those of the repetition.
    credit : str
        Who or what is shown, said on the page: ``A rendered figure, no person.``
    consent : str
        What the person shown agreed to, kept in ``reference.json`` only.
    who : str
        Whose reference it is.

    Raises
    ------
    ModelError
        If the repetition is not there or not whole, a position lies outside it, or there are too many sentences.
    OutputError
        If the folder holds something else, or cannot be written.
    ClipError
        If the clip can no longer be read.
    """
    rep = _model(data, repetition)
    said = _sentences(data, sentences)
    keys = key_positions(data, rep, positions)

    def fill(place: Path) -> None:
        stills = {}
        for key in keys:
            stills[key.name] = key_still(data, key, alike_s=[k.at_s for k in keys])
            (place / f"{key.name}.jpg").write_bytes(stills[key.name])
        write_counted(data, rep, place / "reference.mp4", sentences=said)
        facts = _facts(data, rep, keys) | {"sentences": list(said), "credit": credit, "consent": consent, "who": who}
        (place / MARK).write_text(json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False) + "\n", "utf-8")
        (place / "reference.html").write_text(_page(data, rep, keys, stills, said, credit), "utf-8")

    return write_folder(folder, fill, mark=MARK, kind="reference")


def _model(data: ReviewData, repetition: str | int) -> Repetition:
    number = repetition if isinstance(repetition, int) else number_of(data, repetition)
    rep = next((r for r in data.repetitions if r.number == number), None)
    if rep is None:
        raise ModelError(f"There is no repetition {repetition} in {data.clip.path.name}: choose one that is there.")
    if not rep.complete or len(rep.edges) != 4 or rep.start_s is None:
        raise ModelError(f"Repetition {rep.number} is not whole in the clip: choose another one as the model.")
    return rep


def _sentences(data: ReviewData, sentences: Sequence[str]) -> tuple[str, ...]:
    said = tuple(" ".join(s.split()) for s in sentences if s.strip())
    if len(said) > MOST_SENTENCES:
        raise ModelError(f"A reference holds {MOST_SENTENCES} cues at most, not {len(said)}: choose what matters most.")
    cue = main_cue(data)
    return said or ((cue.say,) if cue is not None else ())


def key_positions(data: ReviewData, rep: Repetition, positions: Mapping[str, float] | None = None) -> tuple[
    KeyPosition, ...
]:  # fmt: skip
    """Return start, turn and end of a repetition with the angles measured there.

    Parameters
    ----------
    data : ReviewData
        The review.
    rep : Repetition
        A whole one.
    positions : mapping of str to float, optional
        Other instants for some of them, seconds.

    Raises
    ------
    ModelError
        If an instant lies outside the repetition, or they are out of order.
    """
    asked = dict(positions or {})
    if set(asked) - set(POSITIONS):
        raise ModelError(f"A reference shows {', '.join(POSITIONS)}, not '{min(set(asked) - set(POSITIONS))}'.")
    at = {"start": rep.edges[0], "turn": rep.turn_s, "end": rep.edges[3]} | asked
    low, high = rep.edges[0] - LEAD_S, (rep.end_s or rep.edges[3]) + TRAIL_S
    if not low <= at["start"] < at["turn"] < at["end"] <= high:
        given = ", ".join(f"{at[n]:.2f}" for n in POSITIONS)
        raise ModelError(
            f"Start, turn and end ({given} s) must follow each other, none before {low:.2f} s or after {high:.2f} s, "
            f"where repetition {rep.number} is."
        )
    signals = _signals(data, rep)
    found = {n: {s.name: v for s in signals if (v := _read(s, at[n])) is not None} for n in POSITIONS}
    return tuple(KeyPosition(name=n, at_s=float(at[n]), angles=found[n]) for n in POSITIONS)


def _signals(data: ReviewData, rep: Repetition) -> list[Signal]:
    """Return the angles that matter in this movement, of the side that is seen, the deciding one first."""
    side = rep.side if rep.side in ("left", "right") else None
    cues = [c for c in sorted(data.movement.cues, key=lambda c: c.priority) if is_angle(data, c)]
    found = [signal_of(data, c, side) for c in (main_cue(data), *cues)]
    return list({s.name: s for s in found if s is not None}.values())


def _read(signal: Signal, at_s: float) -> tuple[float, float] | None:
    near = signal.measured & (np.abs(signal.times_s - at_s) <= READ_WITHIN_S)
    if not near.any():
        return None
    return float(np.median(signal.values[near])), float(np.median(signal.sigma[near]))


def key_still(data: ReviewData, key: KeyPosition, *, alike_s: Sequence[float] = ()) -> bytes:
    """Return one key position as JPEG: the lines of the body and the deciding angle, without marks of the desk.

    Parameters
    ----------
    data : ReviewData
        The review.
    key : KeyPosition
        What is shown.
    alike_s : sequence of float
        Instants, seconds, of the stills that stand beside this one: all get the same cut.

    Raises
    ------
    ClipError
        If the clip can no longer be read, or has no picture there.
    """
    cut, points = athlete_at(data, key.at_s, alike_s=alike_s)
    draw_skeleton(cut, points, near=near_side(data), doubtful=doubtful_at(data, key.at_s))
    name = next(iter(key.angles), None)
    if name is not None:
        mark = angle_mark(data.motion.signals[name], points[None], near=near_side(data),
                          frame_px=(cut.shape[1], cut.shape[0]))  # fmt: skip
        draw_angle(cut, mark, 0, key.at_s, reading=key.angles[name])
    return encode_jpeg(cut)


def write_counted(data: ReviewData, rep: Repetition, path: Path, *, sentences: tuple[str, ...]) -> Path:
    """Write the clip of one repetition with the count of its phases burned in; its time starts at 0.

    Raises
    ------
    ClipError
        If the clip can no longer be read.
    OutputError
        If the file cannot be written.
    """
    times = data.clip.times_s
    end = rep.end_s if rep.end_s is not None and rep.phases[phase_order(data.movement)[3]] is not None else rep.edges[3]
    follows = min(
        (r.start_s for r in data.repetitions if r.start_s is not None and r.start_s > rep.turn_s), default=np.inf
    )
    stop = min(end + TRAIL_S, max(follows, rep.edges[3]))
    first, last = np.searchsorted(times, [rep.edges[0] - LEAD_S, stop])
    kept = first + kept_frames(times[first : last + 1])
    width, height = annotated_size(data)
    band = CountBand(data, rep, sentences=sentences, width=width, short_side=min(width, height))
    overlay = Overlay(data, times[kept], width=width, height=height, band=band)
    rate = 1.0 / max(1e-3, float(np.median(np.diff(times[kept]))))
    wanted = {int(frame): place for place, frame in enumerate(kept)}
    with VideoWriter(path, width_px=overlay.width, height_px=overlay.height, rate_hz=rate, crf=20) as writer:
        frames = data.clip.frames(long_side_px=LONG_SIDE_PX, start=int(first), stop=int(kept[-1]) + 1)
        for number, (_, picture) in enumerate(frames, start=int(first)):
            place = wanted.get(number)
            if place is not None:
                writer.write(float(times[number] - times[kept[0]]), overlay.draw(picture[:height, :width], place))
    return path


def _facts(data: ReviewData, rep: Repetition, keys: Sequence[KeyPosition]) -> dict[str, Any]:
    view = data.motion.view
    return {
        "schema": 1,
        "cuebook_version": data.cuebook_version,
        "clip": {"file": data.clip.path.name, "sha256": data.clip.sha256},
        "movement": data.movement.name,
        "view": {"name": view.name, "facing": view.facing, "uncertainty_deg": round(view.uncertainty_deg, 1)},
        "side_proven": data.side_proven,
        "tempo": None if data.prescription.tempo is None else str(data.prescription.tempo),
        "repetition": {"id": identity_of(data, rep.number), "number": rep.number, "side": rep.side,
                       "start_s": _ms(rep.start_s), "turn_s": _ms(rep.turn_s), "end_s": _ms(rep.end_s),
                       "phases": {f"{p}_s": _ms(rep.phases[p]) for p in phase_order(data.movement)}},
        "positions": [
            {"name": k.name, "at_s": _ms(k.at_s),
             "angles": {n: {"value_deg": round(v, 1), "u_deg": round(u, 1)} for n, (v, u) in k.angles.items()},
             "marks": [{"kind": m.kind, "joints": list(m.joints), "to": None if m.to is None else list(m.to),
                        "size": m.size, "text": m.text} for m in marks_at(data, k.at_s)]}
            for k in keys
        ],
    }  # fmt: skip


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else round(float(seconds), 3)


def _page(data: ReviewData, rep: Repetition, keys: Sequence[KeyPosition], stills: Mapping[str, bytes],
          sentences: tuple[str, ...], credit: str) -> str:  # fmt: skip
    from markupsafe import Markup

    view, movement, tempo = data.motion.view, data.movement, data.prescription.tempo
    style, _, _ = environment().loader.get_source(environment(), "feedback.css")
    order = phase_order(movement)
    facing = f", {view.facing} side to the phone" if view.facing in ("left", "right") else ""
    return (
        environment()
        .get_template("reference.html.j2")
        .render(
            style=Markup(style),
            movement=movement,
            sentences=sentences,
            credit=credit,
            filmed=f"Filmed {VIEW_WORDS[view.name]}{facing if data.side_proven else ''}.",
            other_view=view.name not in movement.views,
            side_open=not data.side_proven and movement.sides != "both",
            positions=[_shown(k, stills[k.name], data) for k in keys],
            phases=[
                (phase_words(movement)[p], _asked(data, p), seconds_text(rep.phases[p], rep.phases_u[p])) for p in order
            ],
            tempo=None if tempo is None else str(tempo),
            cards=[c | {"plan": Markup(c["plan"])} for c in filming_cards(data)],
            caution=CAUTION,
            stop_and_get_help=STOP_AND_GET_HELP,
            stop_and_tell=STOP_AND_TELL_THE_COACH,
        )
    )


def _asked(data: ReviewData, phase: str) -> str:
    """Return what is to be counted in a phase, ``rest`` between repetitions, empty without a tempo."""
    rest = is_rest(data.movement, data.prescription, phase)
    return "rest" if rest else prescribed_text(data.prescription, phase)


def _shown(key: KeyPosition, jpeg: bytes, data: ReviewData) -> dict[str, Any]:
    source = "data:image/jpeg;base64," + b64encode(jpeg).decode("ascii")
    return {"name": key.name, "source": source, "angles": angle_texts(data, key)}


def angle_texts(data: ReviewData, key: KeyPosition) -> list[tuple[str, str]]:
    """Return the words of each angle at a key position, and its value with its uncertainty."""
    angles = []
    for name, (value, spread) in key.angles.items():
        signal = data.motion.signals[name]
        side = signal_side(signal)
        words = measure_words(base_measure(name.removeprefix(f"{side}_")))
        angles.append((words, with_uncertainty(unsigned(signal, value), spread, signal.unit)))
    return angles
