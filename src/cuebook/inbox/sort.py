"""The whole way of an inbox: find, open, compare, name, look, decide, ask, write."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from cuebook.errors import ClipError, UnknownName
from cuebook.movements import find_workspace
from cuebook.pose import points_of_clips

from .answers import Answers, read_answers, with_answer
from .assign import Belongs, from_answers, from_path, from_row
from .decide import decide
from .duplicates import Copy, find_copies
from .entries import UNKNOWN, Entry, Inbox, Known, Looked
from .gather import gather
from .library import Library, read_library
from .manifest import Row, match_files, read_manifest
from .names import clip_name, slug, without_collisions
from .owed import owed_clips
from .quality import findings_of_pictures, findings_of_statements, too_short
from .questions import questions_about
from .receive import Received, receive
from .study import Study, Watch
from .write import ANSWERS, MEMORY, Folder

log = logging.getLogger(__name__)

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What was said about the clips from outside: the manifest, the answers, and what holds for all of them."""

    rows: tuple[Row, ...]
    by_file: Mapping[str, Row]
    answers: Answers
    everywhere: Belongs
    library: Library

    def about(self, one: Received) -> Belongs:
        """Return what is known of a file, the surest statement first."""
        answered = from_answers(self.answers.get(one.sha256[:12], {}))
        roster = [row.athlete for row in self.rows if row.athlete]
        named = from_path(one.file, library=self.library, roster=roster)
        found = answered.over(from_row(self.by_file.get(one.file))).over(named).over(self.everywhere)
        return found.over(self._of_the_athlete(found))

    def _of_the_athlete(self, found: Belongs) -> Belongs:
        """Return what lines about the same athlete say: last feedback, and whether that movement is new."""
        who = slug(found.athlete.value)
        own = [from_row(row) for row in self.rows if who and slug(row.athlete) == who]
        last = next((b.last_feedback for b in own if b.last_feedback), UNKNOWN)
        new = next((b.new for b in own if b.new and b.movement.value == found.movement.value), UNKNOWN)
        return Belongs(last_feedback=last, new=new)


def sort_inbox(
    folder: str | Path,
    *,
    out: str | Path | None = None,
    manifest: str | Path | None = None,
    movement: str | None = None,
    athlete: str | None = None,
    pose: bool = True,
    copy: bool = True,
    accept_looks: bool = False,
    person: str | Sequence[str] = (),
    earlier: Inbox | None = None,
    now: datetime | None = None,
    progress: Progress | None = None,
) -> Inbox:
    """Sort what phones sent: every file ends in one state with a reason, a safe name, and what must be asked.

    Parameters
    ----------
    folder : str or Path
        Where the files were saved; nothing in it is changed.
    out : str or Path, optional
        Folder to write; default: the folder's name with ``.sorted`` beside it. An earlier result in it, or one that
        was stopped, is continued: its ``answers.csv`` is read, files opened before are not opened again.
    manifest : str or Path, optional
        Table of files and of clips owed, see `cuebook.inbox.manifest.COLUMNS`.
    movement, athlete : str, optional
        What holds for every clip that says nothing else.
    pose : bool
        Whether to look for the athlete's pose: feet and hands, distance, view, a second person, which movement it is.
        Without, only containers and a few pictures are looked at, in about a second a clip.
    copy : bool
        Whether to copy the clips that can be judged into ``clips/`` under their new names.
    accept_looks : bool
        Whether a movement that nobody named is taken from what it surely looks like, instead of being asked.
    person : str or sequence of str
        A point on the athlete where two people are in the picture: ``X,Y@T`` (pixels from the top left, seconds) for a
        single clip, ``FILE=X,Y@T`` for one among several. It is kept with the answers.
    earlier : Inbox, optional
        What the last call returned: a clip of which nothing else was said since is not judged anew.
    now : datetime, optional
        The present, for overdue clips and for asking to film again at most once a week.
    progress : callable, optional
        Called with the share done, 0 to 1.

    Returns
    -------
    Inbox
        One entry per file.

    Raises
    ------
    ClipError
        If the folder cannot be read, or is empty and no manifest says who owes a clip.
    InboxError
        If the manifest or an answer cannot be used.
    OutputError
        If `out` holds something else.
    PoseError
        If a point on an athlete cannot be read, or belongs to no clip.
    MovementError, UnknownName
        If a movement file is not valid, or there is no movement of that name.
    """
    source = Path(folder)
    present = now or datetime.now().astimezone()
    target = Folder.at(source, out)
    library = read_library(find_workspace(source))
    everywhere = Belongs(
        movement=Known(value=_named(library, movement), by="asked") if movement else UNKNOWN,
        athlete=Known(value=athlete, by="asked") if athlete else UNKNOWN,
    )
    rows = read_manifest(Path(manifest), library=library) if manifest else ()
    answers, answered = read_answers(
        target.path / ANSWERS, library=library, roster=[row.athlete for row in rows if row.athlete]
    )
    ours = (target.path, *((Path(manifest),) if manifest else ()))
    files, ignored = gather(source, leave_out=ours)
    names = [path.relative_to(source).as_posix() for path in files]
    if not files and not rows:
        raise _nothing_in(source, len(ignored))
    by_file = match_files(rows, names, manifest=Path(manifest).name) if manifest else {}
    share = progress or (lambda _: None)
    received = receive(files, source, memory=target.path / MEMORY, progress=lambda s: share(s * (0.3 if pose else 1.0)))
    answered = _pointed(received, (person,) if isinstance(person, str) else person, answers, answered)
    target.begin(received)
    told = Told(rows=rows, by_file=by_file, answers=answers, everywhere=everywhere, library=library)
    watch = Watch(library=library, tracks=target.tracks(find_workspace(source)), quick=not pose)
    entries = _entries(
        received,
        told,
        watch,
        accept_looks=accept_looks,
        earlier={} if earlier is None else {e.file: e for e in earlier.entries},
        progress=lambda s: share(0.3 + 0.7 * s),
    )
    inbox = Inbox(
        folder=source.resolve().name,
        entries=_with_names(entries, target.names_before()),
        owed=owed_clips(rows, entries),
        ignored=tuple(path.relative_to(source).as_posix() for path in ignored),
    )
    target.write(inbox, received, answered=answered, library=library, copy=copy, now=present)
    return inbox


def _nothing_in(folder: Path, ignored: int) -> ClipError:
    what = f"only what a system or a review left ({ignored} found)" if ignored else "no file"
    return ClipError(
        f"{folder} holds {what}: save the clips there first, or name the folder they are in, or --manifest to hear "
        "who still owes one."
    )


def _named(library: Library, movement: str) -> str:
    found = library.find(movement)
    if found is None:
        raise UnknownName("movement", movement, library.movements)
    return found


def _pointed(
    received: Sequence[Received], persons: Sequence[str], answers: Answers, answered: list[dict[str, str]]
) -> list[dict[str, str]]:
    """Take points on athletes for answers, and return the lines that hold answers with those in them."""
    clips = {one.file: one.sha256[:12] for one in received if one.facts is not None}
    for file, point in points_of_clips(persons, list(clips)).items():
        answers.setdefault(clips[file], {})["person"] = point
        answered = with_answer(answered, clip=clips[file], file=file, asks="person", answer=point)
    return answered


def _entries(
    received: Sequence[Received],
    told: Told,
    watch: Callable[[Received, Belongs], Study | None],
    *,
    accept_looks: bool,
    earlier: Mapping[str, Entry],
    progress: Progress,
) -> list[Entry]:
    copies = find_copies(received)
    groups: dict[str, list[Received]] = {}
    for one in received:
        groups.setdefault(copies[one.file].kept if one.file in copies else one.file, []).append(one)
    out = []
    for number, one in enumerate(received, start=1):
        copy = copies.get(one.file)
        if copy is not None:
            out.append(_copy_entry(one, copy, told))
        else:
            before = earlier.get(one.file)
            out.append(_kept_entry(one, groups[one.file], told, watch, accept_looks=accept_looks, before=before))
        progress(number / len(received))
    return out


def _copy_entry(one: Received, copy: Copy, told: Told) -> Entry:
    belongs = told.about(one)
    entry = replace(_blank(one, belongs, "quick" if one.looks else "not"), kept=copy.kept)
    return decide(entry, trouble=one.trouble, copy=copy.how, conflict="", library=told.library)


def _kept_entry(
    one: Received,
    group: Sequence[Received],
    told: Told,
    watch: Callable[[Received, Belongs], Study | None],
    *,
    accept_looks: bool,
    before: Entry | None,
) -> Entry:
    """Judge the best of a group of copies, with what is known of any of them."""
    belongs = told.about(one)
    for other in group:
        belongs = belongs.over(told.about(other))
    conflict = _conflict(group, told) if belongs.athlete.by != "answer" else ""
    if before is not None and not conflict and _stands(before, _blank(one, belongs, before.looked)):
        return before
    if one.facts is None or one.looks is None:
        found = () if one.short_s is None else (too_short(one.short_s),)
        entry = replace(_blank(one, belongs, "not"), findings=found)
        entry = decide(entry, trouble=one.trouble, copy="", conflict=conflict if found else "", library=told.library)
        return replace(entry, questions=_questions(entry, conflict, told))
    findings = findings_of_pictures(one.facts, one.looks, one.warnings)
    study = None if any(f.weight == "blocks" for f in findings) else watch(one, belongs)
    if study is not None and study.trouble:
        return decide(_blank(one, belongs, "full"), trouble=study.trouble, copy="", conflict="", library=told.library)
    guess = study.guess if study else None
    if accept_looks and guess is not None and guess.sure and not belongs.movement:
        belongs = replace(belongs, movement=Known(value=guess.movement, by="looks"))
    movement = told.library.movements.get(belongs.movement.value)
    findings += findings_of_statements(one.facts, belongs, movement)
    entry = replace(
        _blank(one, belongs, "full" if study else "quick"),
        findings=(*findings, *(study.findings if study else ())),
        guess=guess,
    )
    entry = decide(entry, trouble="", copy="", conflict=conflict, library=told.library)
    return replace(entry, questions=_questions(entry, conflict, told))


def _stands(before: Entry, now: Entry) -> bool:
    """Tell whether a clip that was judged before is the same file, kept as it was, with the same said of it."""
    if before.kept or any(question.asks == "athlete" for question in before.questions):
        return False
    judged = ("state", "reason", "new_name", "findings", "guess", "questions")
    return before == replace(now, **{name: getattr(before, name) for name in judged})


def _questions(entry: Entry, conflict: str, told: Told) -> tuple:
    unclear = any(f.reason == "slow_motion" and f.weight != "note" for f in entry.findings)
    return questions_about(entry, conflict=conflict, slow_motion_unclear=unclear, library=told.library)


def _conflict(group: Sequence[Received], told: Told) -> str:
    """Say which athletes are named for copies of one clip, empty where there is at most one."""
    named: dict[str, tuple[str, str]] = {}
    for one in group:
        who = told.about(one).athlete
        if who and who.by != "asked":
            named.setdefault(slug(who.value), (who.value, one.file))
    if len(named) < 2:
        return ""
    said = " and ".join(f"{who} ({file})" for who, file in named.values())
    return f"The same clip came as that of {said}."


def _blank(one: Received, belongs: Belongs, looked: Looked) -> Entry:
    when = Known(value=belongs.date.value, by=belongs.date.by) if belongs.date else one.captured
    return Entry(
        file=one.file, size_bytes=one.size_bytes, sha256=one.sha256, received=one.received, state="damaged",
        reason="", looked=looked, athlete=belongs.athlete, movement=belongs.movement, side=belongs.side, captured=when,
        set_number=belongs.set_number, mirrored=belongs.mirrored, capture_rate=belongs.capture_rate,
        person=belongs.person, message=belongs.message.value, new=belongs.new.value == "yes",
        last_feedback=belongs.last_feedback.value, facts=one.facts,
    )  # fmt: skip


def _with_names(entries: Sequence[Entry], before: Mapping[str, str]) -> tuple[Entry, ...]:
    """Give every clip that is kept a name of its own; a clip that had one keeps it while it says the same."""
    wanted = [(e.sha256, _name(e)) for e in entries if e.facts is not None and e.state not in ("duplicate", "damaged")]
    names = without_collisions(wanted, taken=dict(before))
    kept = {key for key, _ in wanted}
    return tuple(
        replace(e, new_name=names[e.sha256]) if e.sha256 in kept and e.state not in ("duplicate", "damaged") else e
        for e in entries
    )


def _name(entry: Entry) -> str:
    return clip_name(
        athlete=entry.athlete.value,
        date=entry.captured.value,
        movement=entry.movement.value,
        set_number=entry.set_number.value,
        side=entry.side.value,
        suffix=Path(entry.file).suffix,
    )
