"""The data files hold what the output contract promises."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from cuebook.report.tables import angles_csv, json_text, repetitions_csv

KEYS = {
    "": "schema cuebook_version clip movement settings view person doubtful repetitions measurements verdicts tempo "
    "counts headline warnings",
    "clip": "file sha256 duration_s frames width_px height_px rotation_deg nominal_rate_hz variable_rate "
    "capture_rate_hz mirrored",
    "settings": "met_at not_met_at backend",
    "view": "name facing off_axis_deg uncertainty_deg",
    "person": "found_fraction others_seen side_proven",
    "tempo": "prescribed median median_u outside drift outcomes reasons",
    "counts": "prescribed left right both incomplete",
    "headline": "praise fix next",
}
ROWS = {
    "doubtful": "start_s end_s what reason",
    "repetitions": "number side start_s turn_s end_s complete counted phases phases_u",
    "measurements": "repetition measure side value uncertainty unit at_s method",
    "verdicts": "repetition cue side outcome chance value uncertainty unit limit reason refilm source",
}
PHASES = ["eccentric_s", "long_hold_s", "concentric_s", "short_hold_s"]
SIGNALS = [f"{s}_{j}_flexion" for j in ("knee", "hip", "elbow", "shoulder") for s in ("left", "right")]


def test_review_json_has_every_key_of_the_contract(doubtful):
    record = json.loads(json_text(doubtful))
    for part, keys in KEYS.items():
        assert set(keys.split()) <= set(record[part] if part else record)
    for part, keys in ROWS.items():
        assert record[part], part
        for row in record[part]:
            assert set(keys.split()) <= set(row)


def test_review_json_phases_carry_their_unit(review):
    record = json.loads(json_text(review))
    for values in (record["repetitions"][0]["phases"], record["tempo"]["median"], record["tempo"]["outcomes"]):
        assert list(values) == PHASES
    assert record["tempo"]["prescribed"] == dict(zip(PHASES, (3, 1, "X", 0), strict=True))
    assert record["tempo"]["drift"] == {"eccentric_ratio": 0.82, "eccentric_ratio_u": 0.05, "outcome": "met"}
    assert record["repetitions"][-1]["phases"]["short_hold_s"] is None


def test_missing_values_are_null_never_nan_or_zero(review, empty):
    for data in (review, empty):
        for verdict in json.loads(json_text(data), parse_constant=pytest.fail)["verdicts"]:
            if verdict["outcome"] == "not_measurable":
                assert verdict["value"] is verdict["uncertainty"] is verdict["chance"] is None
                assert verdict["reason"]
                assert verdict["refilm"]
                assert verdict["unit"]


def test_set_verdicts_count_their_repetitions(review):
    whole = [v for v in json.loads(json_text(review))["verdicts"] if v["repetition"] is None]
    depth = next(v for v in whole if v["cue"] == "depth")
    assert (depth["repetitions_met"], depth["repetitions_judged"]) == (2, 4)


def test_no_prescription_is_null(doubtful):
    assert json.loads(json_text(doubtful))["tempo"]["prescribed"] is None


def test_angles_csv_has_pairs_for_the_named_signals_and_empty_cells_where_not_measured(review):
    rows = list(csv.DictReader(io.StringIO(angles_csv(review))))
    names = list(rows[0])
    expected = [f"{s}{end}" for s in [*SIGNALS, "trunk_rotation"] for end in ("_deg", "_u_deg")]
    assert names[: 1 + len(expected)] == ["time_s", *expected]
    assert "trunk_inclination_deg" in names
    assert len(rows) == len(review.motion.times_s)
    assert all(r["right_knee_flexion_deg"] == r["right_knee_flexion_u_deg"] == "" for r in rows)
    knee = review.motion.signals["left_knee_flexion"]
    np.testing.assert_allclose([float(r["left_knee_flexion_deg"]) for r in rows], knee.values, atol=0.006)
    np.testing.assert_allclose([float(r["left_knee_flexion_u_deg"]) for r in rows], knee.sigma, atol=0.006)


def test_repetitions_csv_keeps_order_measures_and_outcomes(review):
    rows = list(csv.DictReader(io.StringIO(repetitions_csv(review))))
    fixed = ["number", "side", "start_s", "turn_s", "end_s", "complete", "counted", *PHASES]
    assert list(rows[0])[: len(fixed)] == fixed
    assert [r["depth_outcome"] for r in rows] == ["met", "met", "near", "not_met"]
    assert rows[0]["knee_flexion_at_turn"] == "108.0"
    assert rows[0]["knee_flexion_at_turn_side"] == "left"
    assert rows[0]["eccentric_s"] == "2.6"
    assert rows[-1]["short_hold_s"] == ""
    assert rows[0]["complete"] == "true"


def test_repetitions_csv_has_the_same_columns_without_repetitions(review, empty):
    with_rows = repetitions_csv(review).splitlines()[0]
    assert repetitions_csv(empty).splitlines() == [with_rows]


def test_the_better_seen_side_decides_in_the_table(review):
    from dataclasses import replace

    worse = replace(review.measurements[0][1], side="right", value=70.0, noise=9.0)
    both = replace(review, measurements=((1, worse), *review.measurements))
    first = next(csv.DictReader(io.StringIO(repetitions_csv(both))))
    assert (first["knee_flexion_at_turn"], first["knee_flexion_at_turn_side"]) == ("108.0", "left")
    kept = [m["side"] for m in json.loads(json_text(both))["measurements"] if m["repetition"] == 1]
    assert kept == ["right", "left"]


def test_a_value_too_unsure_to_be_stated_is_an_empty_cell(review):
    from dataclasses import replace

    knee = review.motion.signals["left_knee_flexion"]
    doubtful = np.arange(len(knee.times_s)) < 3
    unsure = replace(knee, largest_u=1.0, doubtful=doubtful)
    motion = replace(review.motion, signals={**review.motion.signals, knee.name: unsure})
    rows = list(csv.DictReader(io.StringIO(angles_csv(replace(review, motion=motion)))))
    assert all(r["left_knee_flexion_deg"] for r in rows[:3])
    assert all(r["left_knee_flexion_deg"] == r["left_knee_flexion_u_deg"] == "" for r in rows[3:])
