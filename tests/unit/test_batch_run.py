"""A whole batch with a job function that stands in for the review: states, stop, going on, tables, words."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pandas as pd
import pytest

from cuebook.batch import Event, Scored, score_clips, start_scoring
from cuebook.batch.job import Mark, Reporter, StopAsked
from cuebook.batch.pool import Pool
from cuebook.batch.progress import duration, line, shown
from cuebook.cli import main
from cuebook.errors import BatchError, CuebookError, OutputError
from tests.batch_jobs import python_path, stoppable


@pytest.fixture(autouse=True)
def _importable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", python_path())


@pytest.fixture
def squats(tmp_path: Path):
    """Make a folder of clips that hold these texts."""

    def make(*texts: str) -> Path:
        folder = tmp_path / "squat"
        folder.mkdir(exist_ok=True)
        for number, text in enumerate(texts):
            (folder / f"clip-{number}.mp4").write_text(f"{text}", encoding="utf-8")
        return folder

    return make


def score(folder: Path, **options) -> Scored:
    options.setdefault("runner", Pool(2, work=stoppable))
    return score_clips(folder, video=False, **options)


def tries(folder: Path) -> dict[str, int]:
    return {p.stem: len(p.read_text("utf-8").splitlines()) for p in sorted(folder.glob("*.tries"))}


def test_every_clip_ends_in_one_state_with_its_reason(squats, tmp_path: Path) -> None:
    folder = squats("fine", "refused", "poison", "long0.1", "")
    events: list[Event] = []
    scored = score(folder, progress=events.append)
    assert scored.total == 5
    assert scored.states == {"scored": 2, "could_not_be_used": 2, "set_aside": 1, "not_done": 0}
    clips = pd.read_csv(tmp_path / "squat.batch" / "clips.csv")
    assert list(clips["clip"]) == [f"clip-{n}.mp4" for n in range(5)]
    assert list(clips["state"]) == ["scored", "could_not_be_used", "set_aside", "scored", "could_not_be_used"]
    assert "0 bytes" in clips["reason"][4]
    assert {name: state for name, state, _ in scored.others} == {
        "clip-1.mp4": "could_not_be_used", "clip-2.mp4": "set_aside", "clip-4.mp4": "could_not_be_used",
    }  # fmt: skip
    ended = [e for e in events if e.stage in ("scored", "could_not_be_used", "set_aside")]
    assert sorted(e.clip for e in ended) == list(clips["clip"])
    assert [e.done for e in ended] == [1, 2, 3, 4, 5]
    assert {e.total for e in events} == {5}
    assert ended[0].left_s is None or ended[0].left_s > 0
    assert ended[-1].left_s is None


def test_the_same_call_does_nothing_twice_and_a_new_clip_is_added(squats) -> None:
    folder = squats("fine 0", "refused", "fine 2")
    first = score(folder)
    before = tries(folder)
    second = score(folder)
    assert tries(folder) == before
    assert (second.states, second.earlier) == (first.states, 3)
    (folder / "later.mp4").write_text("fine too")
    third = score(folder)
    assert (third.total, third.earlier, third.states["scored"]) == (4, 3, 3)
    assert third.table()["clip"].tolist() == ["clip-0.mp4", "clip-1.mp4", "clip-2.mp4", "later.mp4"]
    assert len(third.table("repetitions")) == 3


def test_other_settings_are_other_results(squats) -> None:
    folder = squats("fine")
    score(folder)
    assert score(folder, tempo="3-1-1-0").earlier == 0
    assert tries(folder) == {"clip-0": 2}


def test_a_review_that_is_gone_or_of_another_clip_is_made_again(squats, tmp_path: Path) -> None:
    folder = squats("fine")
    score(folder)
    review = tmp_path / "squat.batch" / "clip-0.review" / "review.json"
    review.unlink()
    assert score(folder).earlier == 0
    review.write_text(json.dumps({"clip": {"sha256": "0" * 64}}), encoding="utf-8")
    assert score(folder).earlier == 0
    assert tries(folder) == {"clip-0": 3}


def test_what_was_not_scored_is_tried_again_when_asked(squats) -> None:
    folder = squats("refused", "fine")
    score(folder)
    score(folder, again=True)
    assert tries(folder) == {"clip-0": 2, "clip-1": 1}


def test_the_same_file_twice_counts_once_and_says_so(squats) -> None:
    folder = squats("fine", "fine", "fine other")
    scored = score(folder)
    assert (scored.states["scored"], scored.states["set_aside"]) == (2, 1)
    assert scored.others[0][0] == "clip-1.mp4"
    assert "clip-0.mp4" in scored.others[0][2]
    assert tries(folder) == {"clip-0": 1, "clip-2": 1}


def test_a_clip_that_is_missing_costs_only_its_row(squats, tmp_path: Path) -> None:
    squats("fine")
    manifest = tmp_path / "week.csv"
    manifest.write_text("clip,movement\nsquat/gone.mp4,squat\nsquat/clip-0.mp4,squat\n")
    scored = score(manifest)
    assert scored.folder == tmp_path / "week.batch"
    assert (scored.states["scored"], scored.states["could_not_be_used"]) == (1, 1)
    assert "gone.mp4" in scored.others[0][2]


def test_a_stopped_batch_goes_on_where_it_was(squats) -> None:
    folder = squats("fine 0", "fine 1", *(f"long30.{n}" for n in range(4)))
    stop = threading.Event()

    def watch(event: Event) -> None:
        if event.done >= 2 and event.stage == "reading":
            stop.set()

    first = score(folder, progress=watch, stop=stop)
    assert first.stopped
    assert (first.states["scored"], first.states["not_done"]) == (2, 4)
    assert first.table()["state"].tolist() == ["scored", "scored", *["not_done"] * 4]
    for path in folder.glob("*.mp4"):
        if path.read_text().startswith("long"):
            path.write_text(path.read_text().replace("long30", "long0"))
    second = score(folder)
    assert (second.states["scored"], second.earlier) == (6, 2)
    assert second.table()["clip"].is_unique
    assert (tries(folder)["clip-0"], tries(folder)["clip-1"]) == (1, 1)


def test_a_second_run_in_the_same_folder_takes_over(squats, tmp_path: Path) -> None:
    folder = squats("long30")
    running = start_scoring(folder, video=False, runner=Pool(1, work=stoppable))
    until_s = time.monotonic() + 30
    while running.last is None or running.last.stage != "reading":
        assert time.monotonic() < until_s
        time.sleep(0.05)
    (folder / "clip-0.mp4").write_text("fine")
    second = score(folder)
    first = running.result(30)
    assert (first.stopped, second.states["scored"]) == (True, 1)
    assert not (tmp_path / "squat.batch" / ".results" / "run").exists()


def test_a_batch_in_the_background_can_be_looked_at_and_stopped(squats) -> None:
    running = start_scoring(squats("long30"), video=False, runner=Pool(1, work=stoppable))
    assert running.going
    with pytest.raises(TimeoutError):
        running.result(0.1)
    running.stop()
    assert running.result(40).stopped
    assert not running.going
    assert "1 not done yet" in repr(running)


def test_an_error_in_the_background_is_raised_where_the_result_is_asked_for(tmp_path: Path) -> None:
    running = start_scoring(tmp_path / "gone.csv")
    with pytest.raises(BatchError, match=r"gone\.csv"):
        running.result(30)


def test_a_key_press_stops_cleanly_and_the_same_command_goes_on(squats, tmp_path: Path) -> None:
    folder = squats("fine 0", "long30")
    code = (
        "import sys; from cuebook.batch import run; from cuebook.batch.pool import Pool; from cuebook.cli import main\n"
        "from tests.batch_jobs import stoppable\n"
        "run._runner = lambda *a, **k: Pool(2, work=stoppable)\n"
        "sys.exit(main(['batch', sys.argv[1], '--no-video']))"
    )
    command = [sys.executable, "-c", code, str(folder)]
    # started in the background of a script, Python is told to ignore the key; the test's own child must hear it
    hears = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    first = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=hears)
    until_s = time.monotonic() + 60
    results = tmp_path / "squat.batch" / ".results"
    while len(list(results.glob("*.json"))) < 1 or "clip-1" not in tries(folder):
        assert time.monotonic() < until_s
        time.sleep(0.1)
    first.send_signal(signal.SIGINT)
    _, said = first.communicate(timeout=60)
    assert first.returncode == 130
    assert "The same command goes on from there." in said
    assert "Traceback" not in said
    assert pd.read_csv(tmp_path / "squat.batch" / "clips.csv")["state"].tolist() == ["scored", "not_done"]
    (folder / "clip-1.mp4").write_text("fine 1")
    second = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert second.returncode == 0
    assert "2 clips: 2 scored. 1 of them were done before." in second.stdout
    assert "Pain ends the set" in second.stdout
    assert tries(folder)["clip-0"] == 1


def test_a_batch_that_was_killed_loses_no_clip(squats, tmp_path: Path) -> None:
    folder = squats("fine 0", "long30")
    code = (
        "import sys; from cuebook.batch import score_clips; from cuebook.batch.pool import Pool\n"
        "from tests.batch_jobs import stoppable\n"
        "score_clips(sys.argv[1], video=False, runner=Pool(2, work=stoppable))"
    )
    first = subprocess.Popen([sys.executable, "-c", code, str(folder)])
    until_s = time.monotonic() + 60
    while not list((tmp_path / "squat.batch" / ".results").glob("*.json")):
        assert time.monotonic() < until_s
        time.sleep(0.1)
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    (folder / "clip-1.mp4").write_text("fine 1")
    scored = score(folder)
    assert (scored.states["scored"], scored.earlier) == (2, 1)


def test_files_of_somebody_else_are_left_alone(squats, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "letter.txt").write_text("mine")
    with pytest.raises(OutputError, match="no results of a batch"):
        score(squats("fine"), out=out)
    assert [p.name for p in out.iterdir()] == ["letter.txt"]
    with pytest.raises(OutputError, match="is a file"):
        score(squats("fine"), out=out / "letter.txt")


def test_nothing_is_written_where_the_manifest_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "week.csv").write_text("clip,movement\na.mp4,squad\n")
    assert main(["batch", str(tmp_path / "week.csv")]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "week.csv cannot be used: line 2" in said
    assert [p.name for p in tmp_path.iterdir()] == ["week.csv"]


def test_options_that_do_not_go_together_are_refused(squats) -> None:
    with pytest.raises(BatchError, match="leave --workers out"):
        score_clips(squats("fine"), workers=2, scheduler="tcp://127.0.0.1:8786")
    with pytest.raises(BatchError, match="At least one worker"):
        score_clips(squats("fine"), workers=0)
    with pytest.raises(CuebookError, match="no table 'sets'"):
        score(squats("fine")).table("sets")


def test_a_stop_mark_tells_whose_run_it_is(tmp_path: Path) -> None:
    mark = Mark(path=tmp_path / "run", run="a")
    assert mark.stopped()
    mark.path.write_text("a\n")
    assert not mark.stopped()
    mark.path.write_text("b\n")
    assert mark.stopped()


def test_a_reporter_speaks_now_and_then_and_always_at_a_new_stage() -> None:
    said: list[tuple[str, float]] = []
    report = Reporter(lambda stage, share: said.append((stage, share)), lambda: False)
    for share in range(100):
        report("reading", share / 100)
    report("writing", 2.0)
    assert said[0] == ("reading", 0.0)
    assert said[-1] == ("writing", 1.0)
    assert len(said) < 20
    with pytest.raises(StopAsked):
        Reporter(lambda *_: None, lambda: True)("reading")


def test_events_are_plain_lines_where_there_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    with shown(sys.stderr) as show:
        show(Event(clip="a.mp4", stage="reading", done=0, total=2, share=0.5))
        show(Event(clip="a.mp4", stage="scored", done=1, total=2, left_s=300.0))
        show(Event(clip="c.mp4", stage="scored", done=1, total=2, earlier=True))
        show(Event(clip="b.mp4", stage="set_aside", done=2, total=2, left_s=0.0, reason="It took too long."))
    assert capsys.readouterr().err == (
        "[1 of 2] a.mp4: scored; about 5 min left\n[2 of 2] b.mp4: set aside: It took too long\n"
    )


def test_in_a_terminal_there_are_bars_and_only_what_went_wrong_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm")
    screen = Terminal()
    with shown(screen) as show:
        show(Event(clip="[a].mp4", stage="started", done=0, total=2))
        show(Event(clip="[a].mp4", stage="reading", done=0, total=2, share=0.5))
        show(Event(clip="[a].mp4", stage="scored", done=1, total=2, left_s=60.0))
        show(Event(clip="b.mp4", stage="could_not_be_used", done=2, total=2, reason="It holds only sound."))
    assert "b.mp4: could not be used: It holds only sound" in screen.getvalue()
    assert "[a].mp4: scored" not in screen.getvalue()


@pytest.mark.parametrize(("seconds", "words"), [(0.2, "1 s"), (89, "89 s"), (600, "10 min"), (9000, "2.5 h")])
def test_a_time_in_words(seconds: float, words: str) -> None:
    assert duration(seconds) == words


def test_a_second_try_and_a_stop_have_their_lines() -> None:
    assert "tried again at the end" in line(Event(clip="a.mp4", stage="again", done=1, total=3))
    assert "what is done stays done" in line(Event(clip="", stage="stopping", done=1, total=3))
