"""What a batch said of a clip, in a few words for its row on the sheet."""

from __future__ import annotations

import pandas as pd

from cuebook.sheet.results import result_words


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
