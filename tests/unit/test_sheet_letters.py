"""Messages follow what was decided on the sheet."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from cuebook.inbox.entries import Inbox, Known, Question
from cuebook.inbox.library import read_library
from cuebook.sheet.letters import decided, write_messages
from cuebook.sheet.triage import Triage
from tests.sheet_samples import entry

LIBRARY = read_library(None)
TODAY = date(2026, 1, 14)


def asked(number: int, **more: object):
    """A clip of Tamsin's with an open question."""
    made = entry(number)
    question = Question(clip=made.clip, file=made.file, asks="mirrored", to="Tamsin Broad", message=f"Selfie {number}?")
    return entry(number, questions=(question,), state="needs_answer", **more)


def letters(folder: Path, inbox: Inbox, triage: Triage) -> str:
    write_messages(decided(inbox, triage.standing), folder, library=LIBRARY, today=TODAY)
    return (folder / "messages.txt").read_text(encoding="utf-8")


def test_a_clip_that_is_to_be_filmed_again_is_asked_for_with_its_reason(tmp_path: Path) -> None:
    inbox = Inbox(folder="week", entries=(entry(1),))
    triage = Triage(tmp_path, who="Dov Hessel")
    assert letters(tmp_path, inbox, triage) == "Nobody has to be asked anything.\n"
    triage.decide(entry(1).clip, "refilm", reason="feet_missing")
    text = letters(tmp_path, inbox, triage)
    assert text.startswith("To Tamsin Broad")
    assert "cannot be judged yet: feet missing" in text
    assert "so that your feet stay in the picture" in text
    triage.undo()
    assert letters(tmp_path, inbox, triage) == "Nobody has to be asked anything.\n"


def test_nothing_is_asked_about_a_clip_that_was_put_aside(tmp_path: Path) -> None:
    inbox = Inbox(folder="week", entries=(asked(1), asked(2)))
    triage = Triage(tmp_path, who="Dov Hessel")
    triage.decide(entry(1).clip, "damaged")
    text = letters(tmp_path, inbox, triage)
    assert "Selfie 2?" in text
    assert "Selfie 1?" not in text


def test_words_of_pain_and_names_nearly_alike_stand_before_every_letter(tmp_path: Path) -> None:
    hurt = entry(2, athlete=Known(value="Tamsin Brod"), message="my knee is aching")
    text = letters(tmp_path, Inbox(folder="week", entries=(asked(1), hurt)), Triage(tmp_path, who="Dov Hessel"))
    first, second = text.split("\n")[:2]
    assert first == "For the coach, before anything is sent"
    assert 'Tamsin Brod wrote with IMG_0002.mp4: "my knee is aching" (aching). Pain ends the set' in second
    assert "Tamsin Broad and Tamsin Brod are nearly the same name" in text
    assert text.index("nearly the same") < text.index("To Tamsin Broad")
