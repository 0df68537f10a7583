"""What a batch said of a clip, in a few words for its row on the sheet."""

from __future__ import annotations

import pandas as pd

from cuebook.sheet.results import result_words, waiting


def test_counts_of_the_whole_set_are_said_and_reasons_where_nothing_was_scored() -> None:
    clips = pd.DataFrame(
        {
            "clip": ["/in/a.mp4", "/in/b.mp4", "/in/c.mp4"],
            "received_as": ["a.mp4", "b.mp4", "c.mp4"],
            "state": ["scored", "scored", "could_not_be_used"],
            "reason": [None, None, "Only sound."],
            "counted": [8.0, 1.0, None],
            "fix": ["Sit lower.", None, None],
        }
    )
    cues = pd.DataFrame(
        [("/in/a.mp4", None, o) for o in ("met", "not_met", "met")] + [("/in/a.mp4", 1, "near")],
        columns=["clip", "repetition", "outcome"],
    )
    assert result_words(clips, cues) == {
        "a.mp4": {"words": "8 reps; cues: 2 met, 1 not met", "more": "Sit lower."},
        "b.mp4": {"words": "1 rep; cues: none judged", "more": ""},
        "c.mp4": {"words": "could not be used", "more": "Only sound."},
    }
    assert result_words(clips, None)["a.mp4"]["words"] == "8 reps; cues: none judged"


def test_what_was_stopped_is_waited_for_while_it_is_scored_again() -> None:
    stopped = pd.DataFrame(
        {
            "clip": ["a.mp4", "b.mp4", "c.mp4"],
            "state": ["scored", "not_done", "not_done"],
            "reason": [None, "The batch was stopped before this clip was done.", "The batch was stopped."],
            "counted": [8.0, None, None],
            "fix": ["Sit lower.", None, None],
        }
    )
    before = result_words(stopped, None)
    now = waiting(before, ["a.mp4", "b.mp4", "d.mp4"])
    assert now["a.mp4"] == before["a.mp4"]
    assert now["b.mp4"] == {"words": "waiting to be scored", "more": ""}
    assert now["c.mp4"]["more"] == "The batch was stopped.", "it is not among those that are scored now"
    assert "d.mp4" not in now
    assert before["b.mp4"]["words"] == "not done"
