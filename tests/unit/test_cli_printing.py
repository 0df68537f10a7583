"""What the terminal shows of a review and of a tempo."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from cuebook import printing
from cuebook.model import PHASES, ReviewData
from tests.report_samples import make_review


def test_a_summary_gives_every_outcome_in_words_with_value_and_limit(capsys: pytest.CaptureFixture[str]) -> None:
    data = make_review()
    printing.print_summary(data)
    shown = capsys.readouterr()
    lines = shown.out.splitlines()
    assert lines[0].startswith("Squat: 4 repetitions counted")
    assert any("98° ± 4°" in line and "95°" in line and "too close to call" in line for line in lines)
    assert any("not measurable" in line for line in lines)
    assert lines[-3:] == [data.headline.praise, data.headline.fix, data.headline.next]
    assert shown.err == ""


def test_how_to_film_again_is_said_once_per_place(capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_summary(make_review(found=False))
    shown = capsys.readouterr().out
    advice = [line for line in shown.splitlines() if line.startswith("To judge the rest: ")]
    assert len(advice) == len(set(advice)) == 1
    assert "no repetition counted" in shown
    assert shown.splitlines()[-1] not in shown.splitlines()[:-1]


def test_both_sides_share_a_line_when_the_same_is_said_of_them(capsys: pytest.CaptureFixture[str]) -> None:
    data = make_review(found=False)
    depth = next(v for v in data.verdicts if v.repetition is None and v.cue == "depth")
    both = (replace(depth, side="left"), replace(depth, side="right"))
    printing.print_summary(replace(data, verdicts=both))
    assert capsys.readouterr().out.count("Depth: not measurable") == 1


def test_warnings_go_to_standard_error(capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_summary(make_review(doubtful=True))
    assert capsys.readouterr().err == "Mind: The picture is dark: put a lamp in front of you.\n"


def test_the_tempo_table_has_a_row_per_repetition_and_the_prescription(capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_tempo(make_review())
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[:3] == ["repetition", "side", "lowering"]
    assert [line.split()[0] for line in lines[1:8]] == ["1", "2", "3", "4", "asked", "median", "outcome"]
    assert lines[4].rstrip().endswith("–")
    assert lines[7].split()[1:4] == ["met", "met", "met"]
    assert lines[7].endswith("not judged")
    assert lines[9] == "The tempo was kept."
    assert lines[10].startswith("No time was asked for the pause at the top: it is your rest")


def _with_tempo(outcomes: dict[str, str], drift: str | None) -> ReviewData:
    data = make_review()
    return replace(data, tempo=replace(data.tempo, outcomes=MappingProxyType(outcomes), drift_outcome=drift))


@pytest.mark.parametrize(
    ("outcomes", "drift", "sentence"),
    [
        (dict.fromkeys(PHASES, "met"), "met", "The tempo was kept."),
        (dict.fromkeys(PHASES, "met"), "not_met", "The lowering gets quicker through the set"),
        (dict.fromkeys(PHASES, "near"), "met", "No phase is off for certain"),
        (dict.fromkeys(PHASES, "not_measurable"), None, "could not be measured"),
        (
            dict.fromkeys(PHASES, "met") | {"long_hold": "not_met"},
            "not_met",
            "pause at the bottom lasted 1.2 s for 1 s asked: move on a little sooner.",
        ),
    ],
)
def test_one_sentence_says_what_matters_most(
    outcomes: dict[str, str], drift: str | None, sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    printing.print_tempo(_with_tempo(outcomes, drift))
    assert sentence in capsys.readouterr().out


def test_reasons_are_said_once(capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_tempo(make_review(found=False))
    assert capsys.readouterr().out.count("no repetition was found") == 1


def test_columns_line_up(capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_columns([("a", "bb"), ("ccc", "d")])
    assert capsys.readouterr().out == "a    bb\nccc  d\n"
