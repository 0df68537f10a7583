"""The tables of a batch as other programs open them: spreadsheet, pandas, Parquet, DuckDB."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import pandas as pd
import pyarrow.parquet as pq
import pytest

from cuebook.assess.words import CUT_OFF, LET_IT_RUN
from cuebook.batch import sheets
from cuebook.batch.collect import write_tables
from cuebook.batch.job import ClipResult
from cuebook.batch.plan import Default, make_plan
from cuebook.batch.rows import CLIP_COLUMNS, why_none
from cuebook.batch.sheets import Sheet, parquet_missing, safe_cell
from cuebook.errors import OutputError
from tests.batch_jobs import make_jobs, write_small_review


@pytest.fixture
def written(tmp_path: Path) -> Path:
    """Tables of one scored clip, one that could not be used and one that was not done."""
    jobs = make_jobs(tmp_path, ["a", "b", "c"])
    manifest = tmp_path / "week.csv"
    manifest.write_text("clip,athlete,RPE,state\nclip-0.mp4,=Zoë,7,tired\nclip-1.mp4,,,\nclip-2.mp4,Ida,,\n", "utf-8")
    plan = make_plan(manifest, default=Default(movement="squat", repetitions=8))
    write_small_review(jobs[0])
    out = jobs[0].folder.parent
    results = {
        0: ClipResult(number=0, state="scored", took_s=4.25),
        1: ClipResult(number=1, state="could_not_be_used", reason="clip-1.mp4 holds only sound."),
    }
    assert write_tables(out, plan, results, {0: jobs[0].folder.name, 1: "clip-1.review"}) == ()
    return out


def test_a_spreadsheet_opens_them_as_utf_8_with_points_and_without_formulas(written: Path) -> None:
    data = (written / "clips.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    assert [r["clip"] for r in rows] == ["clip-0.mp4", "clip-1.mp4", "clip-2.mp4"]
    assert rows[0]["athlete"] == "'=Zoë"
    assert (rows[0]["fix"], rows[0]["praise"]) == ("'=1+1", "'-2 is how it began.")
    assert rows[0]["duration_s"] == "9.5"
    assert rows[0]["side_proven"] == "false"
    for row in rows:
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row.values())


def test_every_clip_has_one_row_one_state_and_a_reason(written: Path) -> None:
    clips = pd.read_csv(written / "clips.csv")
    assert list(clips["state"]) == ["scored", "could_not_be_used", "not_done"]
    assert list(clips["reason"].isna()) == [True, False, False]
    assert list(clips["counted"].fillna(-1)) == [1, -1, -1]
    assert list(clips["repetitions"]) == [8, 8, 8]
    assert list(clips["review"].isna()) == [False, True, True]
    assert clips["RPE"][0] == 7
    assert clips["manifest_state"][0] == "tired"


def test_a_scored_clip_without_a_repetition_says_so_in_its_reason(tmp_path: Path) -> None:
    (job,) = make_jobs(tmp_path, ["a"])
    (tmp_path / "week.csv").write_text("clip\nclip-0.mp4\n", "utf-8")
    write_small_review(job)
    path = job.folder / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    review["counts"]["both"], review["repetitions"] = 0, []
    review["headline"]["fix"] = "No whole repetition could be counted in this clip."
    path.write_text(json.dumps(review), encoding="utf-8")
    plan = make_plan(tmp_path / "week.csv", default=Default(movement="squat"))
    scored = ClipResult(number=0, state="scored", took_s=1.0)
    notes = write_tables(job.folder.parent, plan, {0: scored}, {0: job.folder.name})
    (row,) = pd.read_csv(job.folder.parent / "clips.csv").to_dict("records")
    assert (row["state"], row["counted"]) == ("scored", 0)
    assert row["reason"] == (
        "No whole repetition could be counted in this clip. Check that the clip shows this movement: Squat."
    )
    assert notes[-1] == f"1 clip holds no whole repetition: clip-0.mp4 ({row['reason']})."


def test_a_clip_that_ends_within_its_repetition_is_not_taken_for_another_movement() -> None:
    review = {"headline": {"fix": CUT_OFF, "next": LET_IT_RUN}}
    assert why_none(review, "Squat") == f"{CUT_OFF} {LET_IT_RUN}"


def test_repetitions_and_cues_have_a_row_each(written: Path) -> None:
    repetitions, cues = (pd.read_csv(written / f"{name}.csv") for name in ("repetitions", "cues"))
    assert repetitions[["clip", "movement", "number", "eccentric_s", "eccentric_u_s"]].to_numpy().tolist() == [
        ["clip-0.mp4", "squat", 1, 3.0, 0.1]
    ]
    assert repetitions["long_hold_s"].isna().all()
    assert cues[["clip", "repetition", "cue", "outcome", "value", "limit_low"]].to_numpy().tolist() == [
        ["clip-0.mp4", 1, "depth", "met", 104.0, 95.0]
    ]
    assert repetitions["complete"].tolist() == [True]


def test_parquet_holds_the_same_with_types_and_plain_texts(written: Path) -> None:
    clips = pq.read_table(written / "clips.parquet")
    assert clips.column_names == [*CLIP_COLUMNS, "RPE", "manifest_state"]
    assert clips.column("athlete").to_pylist() == ["=Zoë", None, "Ida"]
    assert clips.column("counted").to_pylist() == [1, None, None]
    assert str(clips.schema.field("side_proven").type) == "bool"
    assert pd.read_parquet(written / "repetitions.parquet")["eccentric_s"].tolist() == [3.0]


def test_duckdb_opens_both(written: Path) -> None:
    import duckdb

    for ending in ("csv", "parquet"):
        query = f"select clip, outcome, value from '{written / 'cues'}.{ending}' where value > 95"
        assert duckdb.sql(query).fetchall() == [("clip-0.mp4", "met", 104.0)]
    assert duckdb.sql(f"select state from '{written / 'clips.csv'}'").fetchall()[0] == ("scored",)


def test_parquet_grows_in_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "ROWS_AT_ONCE", 2)
    with Sheet(tmp_path, "long", {"clip": "text", "n": "whole"}, parquet=True) as sheet:
        for n in range(5):
            sheet.write({"clip": f"{n}.mp4", "n": n})
    file = pq.ParquetFile(tmp_path / "long.parquet")
    assert file.read().column("n").to_pylist() == [0, 1, 2, 3, 4]
    assert file.num_row_groups == 3
    file.close()


def test_without_rows_the_columns_are_there(tmp_path: Path) -> None:
    with Sheet(tmp_path, "empty", {"clip": "text", "n": "whole"}, parquet=True):
        pass
    assert (tmp_path / "empty.csv").read_text("utf-8-sig") == "clip,n\n"
    assert pq.read_table(tmp_path / "empty.parquet").num_rows == 0


def test_without_the_library_one_sentence_says_so_and_the_csv_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    said = parquet_missing()
    assert said is not None
    assert "pip install 'cuebook[parquet]'" in said
    (tmp_path / "squat").mkdir()
    (tmp_path / "squat" / "a.mp4").write_text("x")
    assert write_tables(tmp_path, make_plan(tmp_path / "squat"), {}, {}) == (said,)
    assert (tmp_path / "clips.csv").is_file()
    assert not list(tmp_path.glob("*.parquet"))


def test_a_table_that_fails_half_way_leaves_the_old_one(tmp_path: Path) -> None:
    (tmp_path / "clips.csv").write_text("old")
    with pytest.raises(RuntimeError, match="half way"), Sheet(tmp_path, "clips", {"n": "whole"}, parquet=True):
        raise RuntimeError("half way")
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("clips.csv", "old")]


def test_a_folder_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"clips\.csv cannot be written"):
        Sheet(tmp_path / "gone", "clips", {"n": "whole"}, parquet=False)


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@a", "\t=1", "\r=1"])
def test_a_text_that_looks_like_a_formula_is_shown_as_text(text: str) -> None:
    assert safe_cell(text) == f"'{text}"


def test_other_texts_stay_as_they_are() -> None:
    assert [safe_cell(t) for t in ("a=b", "3-1-1-0", "", "'")] == ["a=b", "3-1-1-0", "", "'"]
