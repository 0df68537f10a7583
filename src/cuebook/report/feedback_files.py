"""The feedback as files for a coach to send: a page for a phone, the picture, the text. Nothing is sent from here."""

from __future__ import annotations

import re
from base64 import b64encode
from pathlib import Path

from cuebook.errors import OutputError
from cuebook.model import Draft, Picture, ReviewData, Verdict
from cuebook.movements.cautions import CAUTION, STOP_AND_GET_HELP, STOP_AND_TELL_THE_COACH

from .choice import rep_verdict
from .feedback_draft import number_of
from .folder import write_folder
from .marks import draw_marks, marks_at
from .overlay import doubtful_at, near_side
from .page import environment
from .skeleton import draw_skeleton
from .stills import athlete_at, encode_jpeg, still_of
from .words import cue_title, verdict_words

PAGE, PICTURE, TEXT = "feedback.html", "picture.jpg", "message.txt"


def write_feedback(data: ReviewData, draft: Draft, folder: str | Path, *, athlete: str | None = None) -> Path:
    """Write page, picture and text of a draft into a folder, all of it or nothing, and return the folder.

    Parameters
    ----------
    data : ReviewData
        The review with its corrections.
    draft : Draft
        What is said, as the coach edited it.
    folder : str or Path
        Where to; an existing folder is replaced only if it holds feedback.
    athlete : str or None
        Whom it is for, shown at the top.

    Raises
    ------
    ModelError
        If the draft has more than 60 words, or none.
    OutputError
        If the folder holds something else, or cannot be written.
    ClipError
        If the clip can no longer be read.
    """
    draft = draft.checked()
    if (Path(folder) / "review.json").is_file():
        raise OutputError(f"{folder} holds a review and stays as it is: give the feedback a folder of its own.")
    jpeg = None if draft.picture is None else picture_jpeg(data, draft.picture)

    def fill(place: Path) -> None:
        if jpeg is not None:
            (place / PICTURE).write_bytes(jpeg)
        (place / TEXT).write_text(message_text(draft), encoding="utf-8")
        (place / PAGE).write_text(message_page(data, draft, jpeg, athlete=athlete), encoding="utf-8")

    return write_folder(folder, fill, mark=TEXT, kind="feedback")


def message_text(draft: Draft) -> str:
    """Return the text to copy into a message, with the caution below it."""
    return f"{draft.text}\n\n{CAUTION}\n"


def message_page(data: ReviewData, draft: Draft, jpeg: bytes | None, *, athlete: str | None = None) -> str:
    """Return the page of a draft as HTML text that needs no other file.

    Parameters
    ----------
    data : ReviewData
        The review.
    draft : Draft
        What is said.
    jpeg : bytes or None
        The picture.
    athlete : str or None
        Whom it is for.
    """
    from markupsafe import Markup

    loader = environment().loader
    style = "".join(loader.get_source(environment(), name)[0] for name in ("feedback.css", "message.css"))
    source = None if jpeg is None else "data:image/jpeg;base64," + b64encode(jpeg).decode("ascii")
    return (
        environment()
        .get_template("message.html.j2")
        .render(
            style=Markup(style),
            athlete=athlete,
            movement=data.movement,
            draft=draft,
            picture=source,
            alt=picture_words(data, draft.picture),
            caution=CAUTION,
            stop_and_get_help=STOP_AND_GET_HELP,
            stop_and_tell=STOP_AND_TELL_THE_COACH,
        )
    )


def picture_jpeg(data: ReviewData, picture: Picture) -> bytes:
    """Return the picture of a draft as JPEG.

    Raises
    ------
    ClipError
        If the clip can no longer be read, or has no picture there.
    """
    found = _shown(data, picture)
    if found is not None:
        verdict, number = found
        cue = data.movement.cue(verdict.cue)
        rep = next(r for r in data.repetitions if r.number == number)
        still = None if cue is None else still_of(data, cue, rep, verdict)
        if still is not None:
            return still.jpeg
    return still_at(data, picture.at_s)


def _shown(data: ReviewData, picture: Picture) -> tuple[Verdict, int] | None:
    """Return the verdict a picture shows and the number of its repetition, None where it shows a coach's marks."""
    number = number_of(data, picture.repetition)
    if picture.kind != "still" or picture.cue is None or number is None:
        return None
    verdict = rep_verdict(data, picture.cue, number)
    return None if verdict is None or verdict.value is None else (verdict, number)


def still_at(data: ReviewData, at_s: float, *, marks: bool = True) -> bytes:
    """Return the athlete at an instant as JPEG, with the lines of the body and the coach's marks.

    Parameters
    ----------
    data : ReviewData
        The review with its corrections.
    at_s : float
        Instant, seconds.
    marks : bool
        Whether to draw the coach's marks of that instant.

    Raises
    ------
    ClipError
        If the clip can no longer be read, or has no picture there.
    """
    cut, points = athlete_at(data, at_s)
    draw_skeleton(cut, points, near=near_side(data), doubtful=doubtful_at(data, at_s))
    if marks:
        draw_marks(cut, points, marks_at(data, at_s), data)
    return encode_jpeg(cut)


def picture_words(data: ReviewData, picture: Picture | None) -> str:
    """Return what a picture shows in words to the athlete in it; empty without a picture."""
    if picture is None:
        return ""
    found = _shown(data, picture)
    number = number_of(data, picture.repetition)
    where = f"at {picture.at_s:.1f} s" if number is None else f"in repetition {number}"
    if found is not None:
        return f"You {where}, the measured angle drawn: {cue_title(found[0].cue)}, {verdict_words(found[0])}"
    texts = [m.text for m in marks_at(data, picture.at_s) if m.text]
    return f"You {where}, with your coach's marks{': ' + '; '.join(texts) if texts else ''}"


def feedback_warnings(data: ReviewData, draft: Draft) -> tuple[str, ...]:
    """Return what a coach has to look at before sending a draft, one sentence each."""
    out = []
    if data.track.others_seen and draft.picture is not None:
        out.append("A second person was seen in this clip: look at the picture before you send it.")
    if draft.picture is not None and draft.picture.repetition is not None:
        if number_of(data, draft.picture.repetition) is None:
            out.append("The repetition in the picture is no longer there: choose another picture.")
    if not data.side_proven and _names_a_side(draft.text):
        out.append("The text names a side, but the clip does not prove which side is which: ask or look again.")
    return tuple(out)


def _names_a_side(text: str) -> bool:
    """Whether a text says left or right of a body: not of a right angle, nor of what is done right away."""
    rest = re.sub(r"\b(all right|right[\s-]+(angles?|away|now))\b", " ", text.lower())
    return re.search(r"\b(left|right)\b", rest) is not None
