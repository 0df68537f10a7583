"""A review as an object in a notebook."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

import cuebook.report
from cuebook.report import Review


def test_tables_have_numbers_not_text(review):
    shown = Review(review)
    assert list(shown.repetitions.index) == [1, 2, 3, 4]
    assert shown.repetitions["knee_flexion_at_turn"].tolist() == [108.0, 104.0, 92.0, 84.0]
    assert np.isnan(shown.repetitions["short_hold_s"].iloc[-1])
    whole = shown.verdicts[shown.verdicts["repetition"].isna()]
    assert whole.set_index("cue")["outcome"].to_dict() == {
        "depth": "near", "lower-slowly": "met", "knees-apart": "not_measurable",
    }  # fmt: skip
    assert shown.verdicts["value"].dtype == float
    assert shown.angles.shape[0] == len(review.motion.times_s)
    assert shown.measurements["uncertainty"].between(3, 5).all()


def test_an_empty_review_has_empty_tables_with_the_same_columns(review, empty):
    full, none = Review(review), Review(empty)
    assert list(none.repetitions.columns) == list(full.repetitions.columns)
    assert len(none.repetitions) == 0
    assert list(none.measurements.columns) == list(full.measurements.columns)


def test_the_plot_has_line_limit_and_outcomes(review):
    from matplotlib import pyplot as plt

    ax = Review(review).plot()
    assert ax.get_ylabel() == "left knee flexion (°)"
    assert ax.get_title(loc="left") == "Squat: asked 95° or more"
    names = [t.get_text() for t in ax.get_legend().get_texts()]
    assert names == ["standard uncertainty", "met", "too close to call", "not met"]
    assert any(np.allclose(line.get_ydata(), 95.0) for line in ax.get_lines() if len(line.get_ydata()) == 2)
    plt.close(ax.figure)


def test_the_plot_of_nothing_says_so_on_given_axes(empty):
    from matplotlib.figure import Figure

    ax = Figure().add_subplot()
    assert Review(empty).plot(ax) is ax
    assert "nothing could be measured" in ax.get_title(loc="left")


def test_it_shows_itself_in_one_line_and_as_html(review, empty):
    assert repr(Review(review)) == "<Review of squat.mp4: squat, 4 repetitions, main cue depth>"
    assert repr(Review(empty)) == "<Review of squat.mp4: squat, 0 repetitions, nothing measurable>"
    html = Review(review)._repr_html_()
    assert html.count("<img") == 1
    assert "near: too close to call" in html
    assert "<img" not in Review(empty)._repr_html_()


def test_it_saves_and_makes_its_page(review, tmp_path):
    shown = Review(review)
    assert (shown.save(tmp_path / "r", video=False) / "feedback.html").is_file()
    assert "Tamsin" in shown.page(athlete="Tamsin")


def test_public_names_load_and_others_do_not():
    for name in cuebook.report.__all__:
        assert getattr(cuebook.report, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        cuebook.report.nothing  # noqa: B018


def test_a_review_without_pictures_needs_neither_pandas_nor_matplotlib():
    code = (
        "import sys, cuebook.report.write, cuebook.report.page, cuebook.report.stills;"
        "print([m for m in ('pandas', 'matplotlib', 'scipy', 'mediapipe', 'cv2', 'av') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
