"""The tempo check of a notebook, on a judged set without video."""

from __future__ import annotations

import pytest

import cuebook
from cuebook.errors import ModelError, TempoError
from cuebook.model import PHASES
from tests.report_samples import make_review


def test_before_a_clip_there_is_a_guide_and_no_claim() -> None:
    check = cuebook.tempo_check(movement="squat", tempo="3-1-1-1", repetitions=3)
    assert check.data is None
    assert check.sentence == ""
    assert "18 s of work" in check._repr_html_()
    assert "Pain ends the set" in check._repr_html_()
    with pytest.raises(ModelError, match="No clip was measured"):
        check.table()


def test_three_numbers_are_refused() -> None:
    with pytest.raises(TempoError, match="three numbers"):
        cuebook.tempo_check(movement="squat", tempo="3-1-1")


@pytest.fixture
def measured(monkeypatch: pytest.MonkeyPatch, tmp_path):
    """A check whose clip was judged: a drawn stick figure takes the place of the video."""
    data = make_review(tmp_path / "squat.mp4")
    monkeypatch.setattr("cuebook.assess.analyse.review_clip", lambda *_, **__: data)
    check = cuebook.tempo_check(movement="squat", tempo="3-1-1-1", repetitions=4)
    return check, check.measure(tmp_path / "squat.mp4"), data


def test_measuring_gives_the_check_back_and_one_sentence(measured) -> None:
    check, again, _ = measured
    assert again is check
    assert check.sentence.endswith(".")
    assert check.sentence in check._repr_html_()
    assert check.sentence in repr(check)


def test_table_and_bars_hold_the_times_of_the_counted_repetitions(measured) -> None:
    check, _, data = measured
    counted = [r for r in data.repetitions if r.counted]
    table = check.table()
    assert list(table["repetition"]) == [r.number for r in counted]
    bars = check.view.measured["repetitions"]
    assert len(bars) == len(counted)
    for bar, repetition in zip(bars, counted, strict=True):
        for phase in PHASES:
            if repetition.phases[phase] is None:
                assert phase not in bar
            elif not phase.endswith("hold"):
                assert bar[phase] == {"seconds": repetition.phases[phase], "u": repetition.phases_u[phase]}


def test_a_shown_check_follows_a_clip_that_is_measured_later(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    check = cuebook.tempo_check(movement="squat", tempo="3-1-1-1")
    view = check.view
    assert view.measured == {}
    monkeypatch.setattr("cuebook.assess.analyse.review_clip", lambda *_, **__: make_review(tmp_path / "squat.mp4"))
    check.measure(tmp_path / "squat.mp4")
    assert view.measured["sentence"] == check.sentence


def test_the_bundle_has_a_form_for_readers_without_widgets() -> None:
    bundle = cuebook.tempo_check(movement="squat", tempo="3-1-1-1")._repr_mimebundle_()
    data = bundle[0] if isinstance(bundle, tuple) else bundle
    assert "application/vnd.jupyter.widget-view+json" in data
    assert "of work" in data["text/html"]
