"""How clips are spoken of: two of one day are told apart, and no date is called one of filming that may be another."""

from __future__ import annotations

from dataclasses import replace

from cuebook.inbox.entries import Known
from cuebook.inbox.library import read_library
from cuebook.inbox.questions import clip_words, questions_about
from tests.sheet_samples import FACTS, entry, finding

LIBRARY = read_library(None)


def test_two_clips_of_one_day_are_told_apart_by_length_and_name() -> None:
    short, long = entry(1), entry(2, facts=replace(FACTS, duration_s=48.4))
    assert clip_words(short, LIBRARY) == "your squat clip of 11 January (21 s, IMG_0001.mp4)"
    assert clip_words(long, LIBRARY) == "your squat clip of 11 January (48 s, IMG_0002.mp4)"


def test_whoever_is_asked_which_movement_it_is_is_asked_nothing_else_of_it() -> None:
    unknown = entry(1, movement=Known(), findings=(finding("side", "side_unknown"),))
    asked = questions_about(unknown, conflict="", slow_motion_unclear=False, library=LIBRARY)
    assert [q.asks for q in asked] == ["movement"]
    known = replace(unknown, movement=Known(value="split-squat", by="manifest"), athlete=Known())
    asked = questions_about(known, conflict="", slow_motion_unclear=False, library=LIBRARY)
    assert [q.asks for q in asked] == ["athlete", "mirrored"]
    assert "Was it filmed with the selfie camera" in asked[1].message, "the coach did not film it"


def test_the_time_of_a_file_is_no_date_of_filming() -> None:
    saved = entry(1, captured=Known(value="2026-01-12T18:00:00", by="file time"), athlete=Known(), movement=Known())
    assert clip_words(saved, LIBRARY) == "your clip saved on 12 January (21 s, IMG_0001.mp4)"
    asked = questions_about(saved, conflict="", slow_motion_unclear=False, library=LIBRARY)
    assert "IMG_0001.mp4, saved on 12 January, 21 s long" in asked[0].message
    filmed = replace(saved, captured=Known(value="2026-01-11T18:00:00", by="camera"))
    asked = questions_about(filmed, conflict="", slow_motion_unclear=False, library=LIBRARY)
    assert "filmed on 11 January" in asked[0].message
