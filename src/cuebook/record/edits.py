"""Edits of a review as data: what each does to the state, what it is called, and why it may be refused."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from cuebook.assess import spans as moves
from cuebook.errors import ModelError, UnknownName
from cuebook.model import OUTCOMES, DeskState, Movement, Note, Overruled

from .forms import mark_of, state_of

Edit = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """Who edits what, and when.

    Attributes
    ----------
    movement : Movement
        Its side rule and its cues.
    clip_s : float
        Length of the clip, seconds.
    who, at : str
        Author, and the time in UTC.
    """

    movement: Movement
    clip_s: float
    who: str
    at: str


FIELDS: dict[str, tuple[str, ...]] = {
    "move": ("repetition", "boundary", "to_s"),
    "split": ("repetition", "at_s"),
    "merge": ("first", "second"),
    "drop": ("repetition",),
    "add": ("start_s", "turn_s", "end_s", "side"),
    "side": ("repetition", "side"),
    "overrule": ("cue", "repetition", "side", "outcome", "reason"),
    "note": ("at_s", "repetition", "joint", "cue", "severity", "text"),
    "change_note": ("note", "at_s", "repetition", "joint", "cue", "severity", "text"),
    "drop_note": ("note",),
    "mark": ("mark_kind", "at_s", "joints", "to", "size", "text"),
    "change_mark": ("mark", "mark_kind", "at_s", "joints", "to", "size", "text"),
    "drop_mark": ("mark",),
    "carry": ("state",),
}
"""The kinds of edit and the fields of each; `id` and `turns` are filled in when an edit is made."""

MAKES_ONE = ("add", "note", "mark")
"""These make something new, which gets an identity."""


def checked(edit: Edit) -> dict[str, Any]:
    """Return an edit with all its fields, missing ones None.

    Raises
    ------
    ModelError
        If its kind or one of its fields is unknown.
    """
    kind = edit.get("kind")
    if kind not in FIELDS:
        raise ModelError(f"There is no edit called '{kind}': use one of {', '.join(FIELDS)}.")
    extra = set(edit) - {"kind", "id", "turns", *FIELDS[kind]}
    if extra:
        raise ModelError(f"The edit '{kind}' has no '{min(extra)}': it takes {', '.join(FIELDS[kind])}.")
    if kind.startswith("change_"):
        return dict(edit)
    return {"kind": kind, **{name: edit.get(name) for name in FIELDS[kind]},
            **{name: edit[name] for name in ("id", "turns") if edit.get(name) is not None}}  # fmt: skip


def applied(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    """Return the state after an edit; the very same state where nothing changes.

    Parameters
    ----------
    state : DeskState
        Before it.
    edit : mapping
        From :func:`checked`.
    on : Occasion
        Who, when, and on which clip and movement.

    Raises
    ------
    ModelError
        If a value is not possible.
    UnknownName
        If it speaks of something that is not there.
    """
    after = _HOW[edit["kind"]](state, edit, on)
    return state if after == state else after


def words_of(edit: Edit, state: DeskState) -> str:
    """Return what an edit does, in words for a menu: ``move the start of repetition 3``.

    Parameters
    ----------
    edit : mapping
        From :func:`checked`.
    state : DeskState
        Before it.
    """
    number = {s.id: k + 1 for k, s in enumerate(state.spans)}
    rep = edit.get("repetition")
    which = "the whole set" if rep is None else f"repetition {number.get(rep, rep)}"
    kind = edit["kind"]
    if kind == "move":
        return f"move the {edit['boundary']} of {which}"
    if kind == "merge":
        return f"join repetitions {number.get(edit['first'])} and {number.get(edit['second'])}"
    if kind == "add":
        return f"add a repetition at {edit['start_s']:.1f} s"
    if kind == "side":
        return f"call {which} {edit['side']}"
    if kind == "overrule":
        taken_back = edit["outcome"] is None
        said = "take back the outcome" if taken_back else f"see {edit['outcome'].replace('_', ' ')} in"
        return f"{said}{' of' if taken_back else ''} {edit['cue']}, {which}"
    return _PLAIN[kind].format(which=which)


_PLAIN = {
    "split": "split {which}",
    "drop": "drop {which}",
    "note": "write a note",
    "change_note": "change a note",
    "drop_note": "take a note away",
    "mark": "draw a mark",
    "change_mark": "change a mark",
    "drop_mark": "take a mark away",
    "carry": "carry over the corrections of the earlier reading",
}


def _number(edit: Edit, name: str) -> float:
    value = edit.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise ModelError(f"The edit '{edit['kind']}' needs a time for '{name}', not {value!r}.")
    return float(value)


def _respanned(state: DeskState, spans: moves.Spans, edit: Edit) -> DeskState:
    return replace(state, spans=moves.with_turns(spans, edit.get("turns") or {}))


def _move(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    to_s = _number(edit, "to_s")
    return replace(state, spans=moves.moved(state.spans, edit["repetition"], edit["boundary"], to_s, clip_s=on.clip_s))


def _split(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    return _respanned(state, moves.split(state.spans, edit["repetition"], _number(edit, "at_s")), edit)


def _merge(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    return _respanned(state, moves.merged(state.spans, edit["first"], edit["second"]), edit)


def _drop(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    return replace(state, spans=moves.dropped(state.spans, edit["repetition"]))


def _add(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    turn_s = None if edit.get("turn_s") is None else _number(edit, "turn_s")
    spans = moves.added(state.spans, edit["id"], start_s=_number(edit, "start_s"), end_s=_number(edit, "end_s"),
                        turn_s=turn_s, side=edit["side"], movement=on.movement, clip_s=on.clip_s)  # fmt: skip
    return _respanned(state, spans, edit)


def _side(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    return replace(state, spans=moves.sided(state.spans, edit["repetition"], edit["side"], movement=on.movement))


def _overrule(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    known = [c.name for c in on.movement.cues]
    if edit["cue"] not in (*known, "repetitions"):
        raise UnknownName("cue", str(edit["cue"]), known)
    if edit["repetition"] is not None:
        moves.place_of(state.spans, edit["repetition"])
    place = (edit["cue"], edit["repetition"], edit["side"])
    same = [o for o in state.overruled if o.place == place]
    others = tuple(o for o in state.overruled if o.place != place)
    if edit["outcome"] is None:
        return replace(state, overruled=others)
    if edit["outcome"] not in OUTCOMES:
        raise ModelError(f"An outcome is one of {', '.join(OUTCOMES)}, not '{edit['outcome']}'.")
    if not (edit["reason"] or "").strip():
        raise ModelError("An outcome that differs from the measured one needs a reason: write a few words.")
    new = Overruled(cue=edit["cue"], repetition=edit["repetition"], side=edit["side"], outcome=edit["outcome"],
                    reason=edit["reason"].strip(), who=on.who, at=on.at)  # fmt: skip
    if same and replace(same[0], who=new.who, at=new.at) == new:
        return state
    return replace(state, overruled=(*others, new))


def _note(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    values = {name: edit[name] for name in FIELDS["note"]} | {"severity": edit["severity"] or "remark"}
    new = _proper(Note(id=edit["id"], who=on.who, at=on.at, **{**values, "text": edit["text"] or ""}), state, on)
    if any(_same_note(n, new) for n in state.notes):
        return state
    return replace(state, notes=_in_time((*state.notes, new)))


def _same_note(one: Note, other: Note) -> bool:
    return replace(one, id="", who="", at="") == replace(other, id="", who="", at="")


def _proper(note: Note, state: DeskState, on: Occasion) -> Note:
    """Return a note that speaks of things that are there."""
    if note.repetition is not None:
        moves.place_of(state.spans, note.repetition)
    if note.cue is not None and on.movement.cue(note.cue) is None:
        raise UnknownName("cue", note.cue, [c.name for c in on.movement.cues])
    if note.at_s is not None and not -0.001 <= note.at_s <= on.clip_s + 0.1:
        raise ModelError(f"{note.at_s:.2f} s lies outside the clip, which lasts {on.clip_s:.2f} s.")
    return replace(note, text=note.text.strip(), at_s=None if note.at_s is None else round(float(note.at_s), 3))


def _change_note(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    old = _find(state.notes, edit["note"], "note")
    fields = {name: edit[name] for name in FIELDS["note"] if name in edit}
    new = _proper(replace(old, **fields), state, on)
    if new == old:
        return state
    new = replace(new, who=on.who, at=on.at)
    return replace(state, notes=_in_time(tuple(new if n.id == old.id else n for n in state.notes)))


def _drop_note(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    old = _find(state.notes, edit["note"], "note")
    return replace(state, notes=tuple(n for n in state.notes if n.id != old.id))


def _mark(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    values = {name: edit[name] for name in ("joints", "to", "size", "text")}
    new = mark_of({"id": edit["id"], "kind": edit["mark_kind"], "at_s": _instant(edit, on), "who": on.who, "at": on.at,
                   **values, "joints": values["joints"] or ()})  # fmt: skip
    if any(replace(m, id="", who="", at="") == replace(new, id="", who="", at="") for m in state.marks):
        return state
    return replace(state, marks=_in_time((*state.marks, new)))


def _instant(edit: Edit, on: Occasion) -> float:
    at_s = _number(edit, "at_s")
    if not -0.001 <= at_s <= on.clip_s + 0.1:
        raise ModelError(f"{at_s:.2f} s lies outside the clip, which lasts {on.clip_s:.2f} s.")
    return round(at_s, 3)


def _change_mark(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    old = _find(state.marks, edit["mark"], "mark")
    fields = {"kind" if name == "mark_kind" else name: edit[name] for name in FIELDS["mark"] if name in edit}
    if "at_s" in fields:
        fields["at_s"] = _instant(edit, on)
    values = {name: getattr(old, name) for name in ("id", "kind", "at_s", "joints", "to", "size", "text", "who", "at")}
    new = mark_of({**values, **fields})
    if new == old:
        return state
    new = replace(new, who=on.who, at=on.at)
    return replace(state, marks=_in_time(tuple(new if m.id == old.id else m for m in state.marks)))


def _drop_mark(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    old = _find(state.marks, edit["mark"], "mark")
    return replace(state, marks=tuple(m for m in state.marks if m.id != old.id))


def _carry(state: DeskState, edit: Edit, on: Occasion) -> DeskState:
    return state_of(edit["state"])


def _find(things: tuple, identity: object, kind: str) -> Any:
    for thing in things:
        if thing.id == identity:
            return thing
    raise UnknownName(kind, str(identity), [t.id for t in things])


def _in_time(things: tuple) -> tuple:
    return tuple(sorted(things, key=lambda t: (t.at_s is not None, t.at_s or 0.0)))


_HOW: dict[str, Callable[[DeskState, Edit, Occasion], DeskState]] = {
    "move": _move,
    "split": _split,
    "merge": _merge,
    "drop": _drop,
    "add": _add,
    "side": _side,
    "overrule": _overrule,
    "note": _note,
    "change_note": _change_note,
    "drop_note": _drop_note,
    "mark": _mark,
    "change_mark": _change_mark,
    "drop_mark": _drop_mark,
    "carry": _carry,
}
