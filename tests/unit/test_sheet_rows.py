"""The order of review and the words of a row; the order is common practice of the trade, no source."""

from __future__ import annotations

from datetime import date

import pytest

from cuebook.inbox.entries import Inbox
from cuebook.inbox.pain import pain_words
from cuebook.sheet.rows import sheet_rows
from cuebook.sheet.urgency import urgency_of
from tests.sheet_samples import entry, inbox

TODAY = date(2026, 1, 14)


def test_pain_comes_first_then_what_is_new_then_the_longest_wait() -> None:
    rows = sheet_rows(inbox(), today=TODAY)
    assert [r["athlete"] for r in rows] == ["Piet Aalder", "Greta Maarlund", "", "Idris Pell", "Tamsin Broad"]
    assert [r["urgency"] for r in rows] == [
        "wrote of pain (hurts)", "new movement or load", "", "25 days since feedback", "4 days since feedback",
    ]  # fmt: skip


def test_a_copy_and_a_file_that_is_no_clip_have_no_row() -> None:
    rows = sheet_rows(inbox(), today=TODAY)
    assert {r["file"] for r in rows} == {f"IMG_{k:04d}.mp4" for k in (1, 2, 3, 4, 5)}


def test_a_row_says_what_it_looks_like_only_where_nobody_named_the_movement() -> None:
    by_file = {r["file"]: r for r in sheet_rows(inbox(), today=TODAY)}
    assert by_file["IMG_0005.mp4"]["quality"] == ["looks like: push-up"]
    assert by_file["IMG_0003.mp4"]["quality"] == ["feet cut off"]
    assert by_file["IMG_0003.mp4"]["refilm"] == ["feet_missing"]
    assert by_file["IMG_0001.mp4"]["movement"] == "Squat"


def test_a_row_knows_whether_anybody_looked_at_the_athlete() -> None:
    seen, unseen = entry(1), entry(2, looked="quick")
    rows = sheet_rows(Inbox(folder="week", entries=(seen, unseen)), today=TODAY)
    assert {r["file"]: r["unseen"] for r in rows} == {"IMG_0001.mp4": False, "IMG_0002.mp4": True}


@pytest.mark.parametrize(
    ("message", "words"),
    [
        ("My KNEE hurts; sharp.", ("hurts", "sharp")),
        ("popped out to row", ("popped",)),
        ("All good, felt strong", ()),
        ("painting the boat shed", ()),
        ("reached each time, number four was best, coaching helped", ()),
        ("Got dizziness and a bad headache, heart was racing", ("dizziness", "headache", "heart")),
        ("breathlessness after set 2", ("breathlessness",)),
        ("numbness in my foot, pins and needles", ("numbness", "pins and needles")),
        ("new weakness in my left arm", ("weakness",)),
        ("pressure on the breastbone, light-headed, nearly blacked out", ("breastbone", "light-headed", "blacked out")),
        ("lower back pains, my knee is aching", ("pains", "aching")),
        ("I injured my back; felt a twinge", ("injured", "twinge")),
        ("", ()),
    ],
)
def test_words_of_pain_are_whole_words(message: str, words: tuple[str, ...]) -> None:
    assert pain_words(message) == words


def test_who_never_got_feedback_has_waited_longest() -> None:
    never, long = entry(1), entry(2, last_feedback="2025-01-01")
    assert urgency_of(never, today=TODAY) < urgency_of(long, today=TODAY)
    assert urgency_of(entry(3, last_feedback="2026-01-13"), today=TODAY).words == "1 day since feedback"


def test_a_copy_that_is_coded_again_stands_last_unless_it_speaks_of_pain() -> None:
    copy = entry(1, state="duplicate", kept="IMG_0002.mp4")
    assert urgency_of(entry(2, last_feedback="2026-01-13"), today=TODAY) < urgency_of(copy, today=TODAY)
    assert urgency_of(entry(3, state="duplicate", message="knee hurts"), today=TODAY).rank == 0
