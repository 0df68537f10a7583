"""What must be asked, as messages that are ready to be sent: kind, short, one thing each."""

from __future__ import annotations

from .decide import is_wrong
from .entries import Entry, Question
from .library import Library

COACH = "coach"


def questions_about(
    entry: Entry, *, conflict: str, slow_motion_unclear: bool, library: Library
) -> tuple[Question, ...]:
    """Return the questions about a clip, none about copies and files that cannot be opened.

    Parameters
    ----------
    entry : Entry
        With its state.
    conflict : str
        Which names contradict each other, empty if none do.
    slow_motion_unclear : bool
        Whether it looks like slow motion whose capture rate nobody knows.
    library : Library
        For the titles of movements.
    """
    if entry.state in ("duplicate", "damaged"):
        return ()
    out = []
    if conflict or not entry.athlete:
        out.append(_ask(entry, "athlete", COACH, _whose(entry, conflict, library)))
    if not entry.movement or is_wrong(entry):
        seen = entry.guess.movement if entry.guess and entry.guess.sure else ""
        out.append(_ask(entry, "movement", _to(entry), _which(entry, library), seen))
    if any(f.weight == "asks" and f.reason == "two_people" for f in entry.findings):
        out.append(_ask(entry, "person", COACH, _who(entry)))
    if entry.state == "refilm":
        return tuple(out)
    if any(f.reason == "side_unknown" for f in entry.findings) and not any(q.asks == "movement" for q in out):
        out.append(_ask(entry, "mirrored", _to(entry), _mirrored(entry, library)))
    if slow_motion_unclear:
        out.append(_ask(entry, "capture_rate", _to(entry), _rate(entry, library)))
    return tuple(out)


def clip_words(entry: Entry, library: Library) -> str:
    """Return how a clip is spoken of to the athlete: ``your squat clip of 14 January (33 s, IMG_0412.mp4)``.

    Length and name tell two clips of one day apart.
    """
    what = f"{library.title(entry.movement.value)} clip" if entry.movement else "clip"
    length = f"{entry.facts.duration_s:.0f} s, " if entry.facts else ""
    when = f"{'of' if _is_filmed(entry) else 'saved on'} {day_words(entry.captured.value)} " if entry.captured else ""
    return f"your {what} {when}({length}{entry.file})"


def _is_filmed(entry: Entry) -> bool:
    """Return whether the date is that of filming; a file's own time may be that of saving it."""
    return entry.captured.by != "file time"


def day_words(iso: str) -> str:
    """Return ``14 January`` of an ISO date."""
    months = "January February March April May June July August September October November December".split()
    return f"{int(iso[8:10])} {months[int(iso[5:7]) - 1]}"


def _to(entry: Entry) -> str:
    return entry.athlete.value or COACH


def _ask(entry: Entry, asks: str, to: str, message: str, suggestion: str = "") -> Question:
    return Question(clip=entry.clip, file=entry.file, asks=asks, to=to, message=message, suggestion=suggestion)


def _whose(entry: Entry, conflict: str, library: Library) -> str:
    if conflict:
        return f"{conflict} Write the name of the one it belongs to."
    what = f", {library.title(entry.movement.value)}" if entry.movement else ""
    filmed = ""
    if entry.captured:
        filmed = f", {'filmed' if _is_filmed(entry) else 'saved'} on {day_words(entry.captured.value)}"
    length = f", {entry.facts.duration_s:.0f} s long" if entry.facts else ""
    return f"Whose clip is {entry.file}{what}{filmed}{length}? Write the athlete's name."


def _which(entry: Entry, library: Library) -> str:
    sure = entry.guess is not None and entry.guess.sure
    seen = f" To me it looks like the {library.title(entry.guess.movement)}." if sure and entry.guess else ""
    if entry.movement:
        return f"{_about(entry, library)}{seen} Which movement is it? Its name is enough."
    return f"{_about(entry, library)}{seen} Which movement does it show? Its name is enough."


def _who(entry: Entry) -> str:
    size = f" of {entry.facts.width_px} x {entry.facts.height_px}" if entry.facts else ""
    return (
        f"Two people are in {entry.file}. Point at the athlete in a picture in which they stand apart: "
        f"X,Y@T with X and Y in pixels{size} from the top left and T in seconds, such as 320,400@2.5."
    )


def _mirrored(entry: Entry, library: Library) -> str:
    asked = "Did you film it" if entry.athlete else "Was it filmed"
    return f"{_about(entry, library)} {asked} with the selfie camera, which swaps left and right? Yes or no is enough."


def _rate(entry: Entry, library: Library) -> str:
    return (
        f"{_about(entry, library)} It looks like slow motion: which setting was it, 120 or 240? "
        "Next time normal speed is best, so that I can count along."
    )


def _about(entry: Entry, library: Library) -> str:
    return f"About {clip_words(entry, library)}:" if entry.athlete else f"About {entry.file}:"
