"""Pictures of the group: counted sets, no ranking of people."""

from __future__ import annotations

from datetime import date

import matplotlib as mpl
import pandas as pd

from cuebook.sheet.group import cue_outcomes, needs_a_look, plot_cues
from cuebook.sheet.rows import sheet_rows
from tests.sheet_samples import inbox

mpl.use("Agg")


def cues() -> pd.DataFrame:
    rows = [
        ("a.mp4", "Piet Aalder", "squat", None, "depth", "not_met"),
        ("b.mp4", "Tamsin Broad", "squat", None, "depth", "met"),
        ("c.mp4", "Idris Pell", "squat", None, "depth", "near"),
        ("a.mp4", "Piet Aalder", "squat", None, "hip-past-90", "not_met"),
        ("b.mp4", "Tamsin Broad", "squat", None, "hip-past-90", "not_measurable"),
        ("b.mp4", "Tamsin Broad", "squat", None, "chest", "met"),
        ("b.mp4", "Tamsin Broad", "squat", 1, "depth", "not_met"),
    ]
    return pd.DataFrame(rows, columns=["clip", "athlete", "movement", "repetition", "cue", "outcome"])


def test_sets_are_counted_once_and_the_cue_that_fails_most_comes_first() -> None:
    counted = cue_outcomes(cues())
    assert [cue for _, cue in counted.index] == ["hip-past-90", "depth", "chest"]
    assert counted.loc[("squat", "depth")].to_dict() == {"met": 1, "near": 1, "not_met": 1, "not_measurable": 0}
    assert counted.to_numpy().sum() == 6, "the row of one repetition is not a set"


def test_a_set_of_two_sides_counts_once_by_the_side_that_says_more() -> None:
    rows = [("a.mp4", "lunge", None, "depth", o) for o in ("met", "not_met")]
    rows += [("b.mp4", "lunge", None, "depth", o) for o in ("not_measurable", "met")]
    counted = cue_outcomes(pd.DataFrame(rows, columns=["clip", "movement", "repetition", "cue", "outcome"]))
    assert counted.loc[("lunge", "depth")].to_dict() == {"met": 1, "near": 0, "not_met": 1, "not_measurable": 0}


def test_a_clip_with_two_people_in_it_is_named_before_any_cue() -> None:
    said = "Hands were hidden. A second person was seen; the one who was followed may not be the athlete all the time."
    clips = pd.DataFrame(
        [("a.mp4", "front room.mp4", "scored", "", "Piet Aalder", "met", said)],
        columns=["clip", "received_as", "state", "reason", "athlete", "drift_outcome", "warnings"],
    )
    named = needs_a_look([], clips, cues())
    assert named["why"].tolist()[0] == said.removeprefix("Hands were hidden. ")
    assert set(named[named["athlete"] == "Piet Aalder"]["clip"]) == {"front room.mp4"}


def test_a_bar_says_its_count_in_figures_and_its_outcome_in_words() -> None:
    ax = plot_cues(cues())
    assert {t.get_text() for t in ax.get_legend().get_texts()} == {"met", "near", "not met", "not measurable"}
    assert [t.get_text() for t in ax.get_yticklabels()] == ["squat: chest", "squat: depth", "squat: hip past 90"]
    assert sorted(t.get_text() for t in ax.texts if t.get_text()) == ["1"] * 6


def test_who_needs_a_look_is_named_with_a_reason_pain_first() -> None:
    rows = sheet_rows(inbox(), today=date(2026, 1, 14))
    clips = pd.DataFrame(
        [
            ("a.mp4", "scored", "", "Piet Aalder", "not_met"),
            ("d.mp4", "set_aside", "It ended its process.", None, None),
        ],
        columns=["clip", "state", "reason", "athlete", "drift_outcome"],
    )
    named = needs_a_look(rows, clips, cues())
    assert list(named.columns) == ["athlete", "clip", "why"]
    assert named["why"].tolist() == [
        'wrote of pain (hurts): "Knee hurts a bit on the last two"',
        "new movement or load",
        "not met: depth, hip past 90",
        "the lowering shrank through the set",
        "It ended its process.",
    ]


def test_the_words_that_matter_are_not_cut_off_on_the_screen() -> None:
    end = "since then my left knee hurts on the stairs"
    rows = [{"rank": 0, "athlete": "Piet Aalder", "file": "a.mp4", "urgency": "wrote of pain (hurts)",
             "message": f"The last two were quick, I slipped a little and {end}"}]  # fmt: skip
    assert end in needs_a_look(rows, None, None)._repr_html_()


def test_before_a_batch_only_what_was_received_is_named() -> None:
    rows = sheet_rows(inbox(), today=date(2026, 1, 14))
    assert len(needs_a_look(rows, None, None)) == 2
