"""What is known of one received file, and of all of them together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from cuebook.likeness import Guess

State = Literal["usable", "partly", "refilm", "wrong_movement", "duplicate", "damaged", "needs_answer"]

STATES: dict[str, str] = {
    "usable": "usable",
    "partly": "partly usable",
    "refilm": "film again",
    "wrong_movement": "wrong movement",
    "duplicate": "duplicate",
    "damaged": "damaged, or no clip",
    "needs_answer": "needs an answer",
}
"""Every file ends in exactly one of these; the words are what people read."""

REASONS: dict[str, str] = {
    "feet_missing": "feet missing",
    "hands_missing": "hands missing",
    "wrong_view": "wrong view",
    "too_dark": "too dark",
    "moved_camera": "moved camera",
    "two_people": "two people",
    "too_far": "too far",
    "too_short": "too short",
    "slow_motion": "slow motion",
    "side_unknown": "side unknown",
    "wrong_movement": "wrong movement",
    "file_damaged": "file damaged",
}
"""The fixed list of reasons to film again."""

ALIKE = 0.87
"""Share of equal letters from which two names may be one (house choice: one letter wrong or left out of eight)."""

Weight = Literal["blocks", "part", "asks", "note"]
Looked = Literal["not", "quick", "full"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing about the quality of a clip, with the figure it rests on.

    Attributes
    ----------
    word : str
        What a coach calls it: ``too dark``, ``shaky``, ``feet cut off``.
    reason : str or None
        The reason to film again it belongs to, a key of `REASONS`; None where the list has none.
    value, limit : float or None
        The measured figure and the limit it passed.
    unit : str
        Of both.
    weight : {"blocks", "part", "asks", "note"}
        Whether the clip cannot be judged at all, in part, before a question is answered, or is fine all the same.
    sentence : str
        What was found, for the coach.
    source : str
        Where the limit comes from.
    """

    word: str
    reason: str | None
    value: float | None
    limit: float | None
    unit: str
    weight: Weight
    sentence: str
    source: str = "house choice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something only a person can say.

    Attributes
    ----------
    clip : str
        First twelve characters of the file's hash: it stays the same when the file is renamed.
    file : str
        Name under which the file was received.
    asks : {"athlete", "movement", "mirrored", "capture_rate", "person"}
        What the answer will be used as.
    to : str
        Who is asked: an athlete, or ``coach``.
    message : str
        Ready to be sent.
    suggestion : str
        What it looks like, empty where nothing is proposed.
    """

    clip: str
    file: str
    asks: str
    to: str
    message: str
    suggestion: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A value together with how it is known; both empty where it is not.

    Attributes
    ----------
    value : str
        An athlete, a movement, an ISO date and time, a side.
    by : str
        ``answer``, ``manifest``, ``folder``, ``file name``, ``camera``, ``file time``, ``asked``, ``looks``.
    """

    value: str = ""
    by: str = ""

    def __bool__(self) -> bool:
        return bool(self.value)


UNKNOWN = Known()


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the container of a clip says about it."""

    duration_s: float
    frames: int
    width_px: int
    height_px: int
    rate_hz: float
    variable_rate: bool
    rotation_deg: int
    codec: str
    slow_motion: bool
    capture_rate_hz: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One received file: what it is, whose, which movement, how good, and in which state it ends.

    Attributes
    ----------
    file : str
        Path below the inbox folder, with forward slashes.
    size_bytes : int
        Its size.
    sha256 : str
        Hash of its bytes, empty where they cannot be read.
    received : str
        Time of the file on disk, ISO 8601 with the zone of this machine.
    state : State
        A key of `STATES`.
    reason : str
        One sentence that says why it is in that state.
    looked : {"not", "quick", "full"}
        Whether pictures were looked at, and whether the athlete's pose was.
    athlete, movement, side, captured, set_number, mirrored, capture_rate, person : Known
        With how each is known: the last three are what `cuebook.review` is to be told.
    message : str
        The athlete's own words that came with it.
    new : bool
        Whether movement or load is new to the athlete.
    last_feedback : str
        ISO date on which this athlete last heard from the coach, empty where nobody said.
    new_name : str
        Safe name for the clip, empty where it gets none.
    kept : str
        For a duplicate, the file that is kept instead.
    facts : Facts or None
        None for files that are no clips.
    findings : tuple of Finding
        Quality, each with its figure.
    guess : Guess or None
        What movement it looks like; None where nobody looked.
    questions : tuple of Question
        What must be asked about it.
    """

    file: str
    size_bytes: int
    sha256: str
    received: str
    state: State
    reason: str
    looked: Looked
    athlete: Known = UNKNOWN
    movement: Known = UNKNOWN
    side: Known = UNKNOWN
    captured: Known = UNKNOWN
    set_number: Known = UNKNOWN
    mirrored: Known = UNKNOWN
    capture_rate: Known = UNKNOWN
    person: Known = UNKNOWN
    message: str = ""
    new: bool = False
    last_feedback: str = ""
    new_name: str = ""
    kept: str = ""
    facts: Facts | None = None
    findings: tuple[Finding, ...] = ()
    guess: Guess | None = None
    questions: tuple[Question, ...] = ()

    @property
    def clip(self) -> str:
        """Short name of the content: the first twelve characters of the hash."""
        return self.sha256[:12]

    @property
    def refilm(self) -> tuple[str, ...]:
        """Reasons to film again, keys of `REASONS`, those that block first."""
        order = {"blocks": 0, "part": 1, "asks": 2, "note": 3}
        given = sorted((f for f in self.findings if f.reason and f.weight != "note"), key=lambda f: order[f.weight])
        return tuple(dict.fromkeys(f.reason for f in given if f.reason))


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """Clips that were asked for: of whom, of which movement, until when, and whether they arrived.

    Attributes
    ----------
    athlete, movement : str
        Who and what.
    due : str
        ISO date, empty where none was set.
    asked : int
        Number of clips asked for.
    arrived : int
        Number of clips of it that can be judged at least in part.
    waiting : int
        Number that wait for an answer or must be filmed again.
    """

    athlete: str
    movement: str
    due: str
    asked: int
    arrived: int
    waiting: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Inbox:
    """All that was received.

    Attributes
    ----------
    folder : str
        Name of the folder.
    entries : tuple of Entry
        One per file, in order of name.
    owed : tuple of Owed
        What was asked for, in order of athlete and movement.
    ignored : tuple of str
        Files that systems leave behind and nobody sent.
    """

    folder: str
    entries: tuple[Entry, ...]
    owed: tuple[Owed, ...] = ()
    ignored: tuple[str, ...] = ()

    @property
    def counts(self) -> dict[str, int]:
        """Number of files in each state; they add up to the number of entries."""
        found = Counter(entry.state for entry in self.entries)
        return {state: found[state] for state in STATES}

    @property
    def questions(self) -> tuple[Question, ...]:
        """All questions, in order of the files."""
        return tuple(question for entry in self.entries for question in entry.questions)

    @property
    def alike(self) -> tuple[tuple[str, str], ...]:
        """Names of athletes that are nearly the same: one of the two may be mistyped."""
        names = sorted(({e.athlete.value for e in self.entries} | {o.athlete for o in self.owed}) - {""})
        out = []
        for place, one in enumerate(names):
            others = {other.casefold(): other for other in names[place + 1 :]}
            near = get_close_matches(one.casefold(), others, n=3, cutoff=ALIKE)
            out += [(one, others[other]) for other in sorted(near)]
        return tuple(out)

    @property
    def missing(self) -> tuple[Owed, ...]:
        """What was asked for and has not arrived."""
        return tuple(owed for owed in self.owed if owed.arrived < owed.asked)
