"""Two demo clips through the whole batch: from folders to reviews and tables, on this machine and by a scheduler."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pandas as pd
import pytest

import cuebook
from cuebook.cli import main
from cuebook.report.tables import review_json
from tests.dask_samples import started

pytestmark = [pytest.mark.slow, pytest.mark.backend]

FOLDER = Path(__file__).parents[2] / "clips_demo"
CLIPS = {"squat": "squat-turned-file.mp4", "standing-trunk-rotation": "trunk-rotation.mp4"}


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Results of a batch over two clips and a text that is called a clip."""
    clips = tmp_path_factory.mktemp("batch") / "clips"
    for movement, name in CLIPS.items():
        (clips / movement).mkdir(parents=True)
        shutil.copy(FOLDER / name, clips / movement / name)
    (clips / "squat" / "notes.mp4").write_text("no picture")
    assert main(["batch", str(clips), "--no-video", "--workers", "2"]) == 0
    return clips.with_name("clips.batch")


def test_every_clip_has_its_state_and_its_review(done: Path) -> None:
    clips = pd.read_csv(done / "clips.csv").set_index("clip")
    assert clips["state"].to_dict() == {
        "squat/notes.mp4": "could_not_be_used",
        "squat/squat-turned-file.mp4": "scored",
        "standing-trunk-rotation/trunk-rotation.mp4": "scored",
    }
    assert "text file" in clips["reason"]["squat/notes.mp4"]
    for name in CLIPS.values():
        files = {p.name for p in (done / f"{Path(name).stem}.review").iterdir()}
        assert files >= {"review.json", "angles.csv", "repetitions.csv", "feedback.html", "stills", "track"}
    assert not [p for p in done.rglob("*") if "partial" in p.name or p.suffix in (".new", ".old")]


def test_the_tables_say_what_the_reviews_say(done: Path) -> None:
    review = json.loads((done / "squat-turned-file.review" / "review.json").read_text("utf-8"))
    repetitions, cues = (pd.read_parquet(done / f"{name}.parquet") for name in ("repetitions", "cues"))
    own = repetitions[repetitions["clip"] == "squat/squat-turned-file.mp4"]
    assert own["turn_s"].tolist() == [r["turn_s"] for r in review["repetitions"]]
    assert len(own) >= 2
    own = cues[cues["clip"] == "squat/squat-turned-file.mp4"]
    assert own["outcome"].tolist() == [v["outcome"] for v in review["verdicts"]]
    assert set(repetitions["movement"]) == set(CLIPS)


@pytest.mark.parametrize("movement", CLIPS)
def test_the_review_is_the_one_that_a_single_clip_gets(done: Path, movement: str) -> None:
    folder = done / f"{Path(CLIPS[movement]).stem}.review"
    alone = cuebook.review(FOLDER / CLIPS[movement], movement=movement, cache_dir=folder / "track")
    assert json.loads((folder / "review.json").read_text("utf-8")) == json.loads(json.dumps(review_json(alone.data)))


def test_the_same_command_again_reviews_nothing(done: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pages = [done / f"{Path(name).stem}.review" / "feedback.html" for name in CLIPS.values()]
    before = [page.stat().st_mtime_ns for page in pages]
    assert main(["batch", str(done.with_name("clips")), "--no-video", "--workers", "2"]) == 0
    assert "3 of them were done before" in capsys.readouterr().out
    assert [page.stat().st_mtime_ns for page in pages] == before


@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_scheduler_brings_the_same_results(done: Path, tmp_path: Path) -> None:
    """The landmarks lie in the reviews, so that only what comes after them is done again."""
    out = tmp_path / "cluster"
    shutil.copytree(done, out)
    for entry in (out / ".results").glob("*.json"):
        entry.unlink()
    with started(tmp_path, workers=1) as address:
        scored = cuebook.score_clips(done.with_name("clips"), out=out, video=False, scheduler=address)
    assert (scored.states["scored"], scored.states["could_not_be_used"], scored.earlier) == (2, 1, 0)
    for name in ("repetitions", "cues"):
        assert (out / f"{name}.csv").read_bytes() == (done / f"{name}.csv").read_bytes()
    varying = ["took_s"]
    here, there = (pd.read_csv(folder / "clips.csv").drop(columns=varying) for folder in (done, out))
    pd.testing.assert_frame_equal(here, there)
