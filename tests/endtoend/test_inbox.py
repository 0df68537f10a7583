"""Two hundred mixed files, as phones and messengers send them: every one ends in exactly one state, none is lost."""

from __future__ import annotations

import csv
import hashlib
import json
import shutil
from collections import Counter
from datetime import datetime
from pathlib import Path

import pytest

from cuebook.cli import main
from cuebook.inbox import Inbox, sort_inbox
from tests.inbox_samples import take, write_again, write_sound, write_take

NOW = datetime.fromisoformat("2026-01-17T08:00:00+00:00")
ATHLETES = ("Idris Pell", "Greta Maarlund", "Tamsin Broad", "Piet Aalder", "Maud Otterley", "Fenn Otterley")
MOVEMENTS = ("squat", "push-up", "glute-bridge", "split squat")
BOTH_SIDES = {"squat", "push-up", "glute-bridge"}
FILMED = {"creation_time": "2026-01-14T18:30:00Z"}

pytestmark = pytest.mark.slow


def fill(folder: Path) -> dict[str, str]:
    """Write the files; return the state in which each must end, by its path."""
    wanted: dict[str, str] = {}
    seed = 0

    def put(path: str, state: str, **how: object) -> Path:
        nonlocal seed
        seed += 1
        wanted[path] = state
        return write_take(folder / path, take(seed, room=seed % 5), **how)  # type: ignore[arg-type]

    for athlete in ATHLETES:  # 6 x 4 x 4 = 96 good ones: plain, turned, uneven, from another phone
        for movement in MOVEMENTS:
            state = "usable" if movement in BOTH_SIDES else "partly"
            home = f"{athlete}/{movement}"
            put(f"{home}/IMG_0042.MP4", state, metadata=FILMED)
            put(f"{home}/IMG_0043.MOV", state, turned=1 + seed % 3)
            put(f"{home}/VID_20260114_183012.mp4", state, uneven=True)
            put(f"{home}/clip set 2.mkv", state, codec="libx265" if seed % 4 == 0 else "libx264")
    firsts = [f"{athlete}/{movement}/IMG_0042.MP4" for athlete in ATHLETES for movement in MOVEMENTS]
    for number, first in enumerate(firsts):  # 24 + 16 sent twice
        copy = str(Path(first).with_name(f"IMG_0042 ({number + 1}).MP4"))
        shutil.copy(folder / first, folder / copy)
        wanted[copy] = "duplicate"
    for number, first in enumerate(firsts[:16]):
        again = f"messages/{number:02d}-WA.mp4"
        (folder / "messages").mkdir(exist_ok=True)
        write_again(folder / first, folder / again)
        wanted[again] = "duplicate"
    for number in range(20):  # nobody says whose, or which movement
        put(f"IMG_{1000 + number}.mp4", "needs_answer")
        if number < 8:
            put(f"{ATHLETES[0]}/IMG_{2000 + number}.mp4", "needs_answer")
    refused = {
        "text.mp4": b"this is not a clip\n", "notes.txt": b"sore knee on Tuesday", "zeros.mov": bytes(5000),
        "picture.jpg": b"\xff\xd8\xff\xe0" + bytes(300), "renamed.mp4": b"PK\x03\x04" + bytes(range(256)) * 8,
        "cut.mp4": (folder / firsts[0]).read_bytes()[:600],
    }  # fmt: skip
    for athlete in ATHLETES[:5]:
        for name, content in refused.items():
            (folder / athlete / name).write_bytes(content + athlete.encode())
            wanted[f"{athlete}/{name}"] = "damaged"
        (folder / athlete / "empty.mp4").touch()
        wanted[f"{athlete}/empty.mp4"] = "damaged"
    write_sound(folder / "voice.wav")
    write_sound(folder / "Idris Pell" / "voice.mp4", seconds=0.5)
    wanted |= {"voice.wav": "damaged", "Idris Pell/voice.mp4": "damaged"}
    write_take(folder / "Piet Aalder/squat/short.mp4", take(900)[:7])
    wanted["Piet Aalder/squat/short.mp4"] = "refilm"
    write_take(folder / "Idris Pell/squat/night.mp4", [image // 14 for image in take(901)])
    wanted["Idris Pell/squat/night.mp4"] = "refilm"
    for litter in (".DS_Store", "Idris Pell/Thumbs.db", "Greta Maarlund/squat/._IMG_0042.MP4"):
        (folder / litter).write_bytes(b"left by a system")
    return wanted


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str], Path]:
    base = tmp_path_factory.mktemp("mixed")
    wanted = fill(base / "inbox")
    manifest = base / "owed.csv"
    lines = [f",{athlete},{movement},2026-01-16" for athlete in ATHLETES for movement in MOVEMENTS]
    manifest.write_text("\n".join(["file,athlete,movement,due", *lines, ",Juno Carrow,squat,2026-01-16"]) + "\n")
    return base / "inbox", wanted, manifest


@pytest.fixture(scope="module")
def prints(mixed: tuple[Path, dict[str, str], Path]) -> dict[str, str]:
    folder = mixed[0]
    return {p.as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def found(mixed: tuple[Path, dict[str, str], Path], prints: dict[str, str]) -> Inbox:
    folder, _, manifest = mixed
    return sort_inbox(folder, manifest=manifest, pose=False, now=NOW)


def test_every_file_is_accounted_for_in_the_state_it_must_have(mixed: tuple, found: Inbox) -> None:
    _, wanted, _ = mixed
    assert len(wanted) >= 200
    assert {e.file: e.state for e in found.entries} == wanted
    assert sum(found.counts.values()) == len(wanted)
    assert sorted(found.ignored) == [".DS_Store", "Greta Maarlund/squat/._IMG_0042.MP4", "Idris Pell/Thumbs.db"]


def test_every_entry_says_why(found: Inbox) -> None:
    for entry in found.entries:
        assert entry.reason.endswith((".", "?")), entry
        assert len(entry.reason) > 10
        assert bool(entry.kept) == (entry.state == "duplicate")
        assert all(f.sentence and f.source for f in entry.findings)


def test_a_copy_points_at_a_clip_that_is_kept(found: Inbox) -> None:
    by_file = {e.file: e for e in found.entries}
    for entry in found.entries:
        if entry.kept:
            kept = by_file[entry.kept]
            assert kept.state not in ("duplicate", "damaged")
            assert kept.facts is not None
            assert entry.facts is not None
            assert kept.facts.width_px >= entry.facts.width_px


def test_the_originals_are_untouched(mixed: tuple, prints: dict[str, str], found: Inbox) -> None:
    after = {p.as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in mixed[0].rglob("*") if p.is_file()}
    assert after == prints


def test_what_can_be_judged_lies_under_a_safe_name_of_its_own(mixed: tuple, found: Inbox) -> None:
    ready = {e.new_name: e for e in found.entries if e.state in ("usable", "partly")}
    clips = mixed[0].with_name("inbox.sorted") / "clips"
    assert {p.name for p in clips.iterdir()} == set(ready)
    assert len({name.casefold() for name in ready}) == 96
    for name, entry in ready.items():
        assert hashlib.sha256((clips / name).read_bytes()).hexdigest() == entry.sha256
    named = {e.file: e.new_name for e in ready.values()}
    assert named["Idris Pell/squat/IMG_0042.MP4"] == "idris-pell_2026-01-14_squat.mp4"
    assert named["Idris Pell/squat/clip set 2.mkv"].endswith("_squat_set-2.mkv")


def test_dates_say_how_they_are_known(found: Inbox) -> None:
    known = {e.file: e.captured for e in found.entries}
    assert known["Idris Pell/squat/IMG_0042.MP4"].by == "camera"
    assert known["Idris Pell/squat/VID_20260114_183012.mp4"].by == "file name"
    assert known["Idris Pell/squat/IMG_0043.MOV"].by == "file time"


def test_the_tables_hold_every_file_with_its_original_name(mixed: tuple, found: Inbox) -> None:
    out = mixed[0].with_name("inbox.sorted")
    with (out / "inbox.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert {row["file"]: row["state"] for row in rows} == mixed[1]
    result = json.loads((out / "inbox.json").read_text(encoding="utf-8"))
    assert result["counts"] == dict(Counter(mixed[1].values())) | {"wrong_movement": 0}
    assert [f["file"] for f in result["files"]] == [e.file for e in found.entries]


def test_only_the_one_who_sent_nothing_is_missing(mixed: tuple, found: Inbox) -> None:
    assert [(o.athlete, o.movement) for o in found.missing] == [("Juno Carrow", "squat")]
    text = (mixed[0].with_name("inbox.sorted") / "missing.txt").read_text(encoding="utf-8")
    assert text == "Juno Carrow: squat, due 16 January, overdue\n"


def test_answers_are_read_on_the_next_run_and_nothing_else_changes(
    mixed: tuple, found: Inbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, _, manifest = mixed
    out = folder.with_name("inbox.sorted")
    with (out / "answers.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    asked = [(r["file"], r["asks"]) for r in rows if r["file"] == "IMG_1000.mp4"]
    assert asked == [("IMG_1000.mp4", "athlete"), ("IMG_1000.mp4", "movement")]
    for row in rows:
        if row["file"] == "IMG_1000.mp4":
            row["answer"] = {"athlete": "Tamsin Broad", "movement": "Glute bridge"}[row["asks"]]
    with (out / "answers.csv").open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)

    def refuse(path: object) -> None:
        raise AssertionError(f"{path} was opened again")

    monkeypatch.setattr("cuebook.inbox.receive._opened", refuse)
    again = sort_inbox(folder, manifest=manifest, pose=False, now=NOW)
    before, after = {e.file: e for e in found.entries}, {e.file: e for e in again.entries}
    changed = [file for file in after if after[file] != before[file]]
    assert changed == ["IMG_1000.mp4"]
    entry = after["IMG_1000.mp4"]
    assert (entry.state, entry.athlete.by, entry.movement.value) == ("usable", "answer", "glute-bridge")
    assert (out / "clips" / entry.new_name).is_file()
    assert "IMG_1000.mp4,athlete" in (out / "answers.csv").read_text(encoding="utf-8")


def test_one_clip_under_two_names_is_asked_about(tmp_path: Path) -> None:
    first = write_take(tmp_path / "in" / "Maud Otterley" / "squat" / "a.mp4", take(50))
    (tmp_path / "in" / "Fenn Otterley").mkdir()
    shutil.copy(first, tmp_path / "in" / "Fenn Otterley" / "b.mp4")
    found = sort_inbox(tmp_path / "in", pose=False, now=NOW)
    assert sorted(e.state for e in found.entries) == ["duplicate", "needs_answer"]
    (question,) = found.questions
    assert (question.asks, question.to) == ("athlete", "coach")
    assert "Maud Otterley" in question.message
    assert "Fenn Otterley" in question.message


def test_the_command_prints_every_file_and_writes_the_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_take(tmp_path / "in" / "Greta Maarlund" / "a.mp4", take(60))
    code = main(["inbox", str(tmp_path / "in"), "--quick", "--movement", "squat", "--out", str(tmp_path / "out")])
    said = capsys.readouterr().out
    assert code == 0
    assert "Greta Maarlund/a.mp4" in said
    assert "1 file: 1 usable." in said
    assert (tmp_path / "out" / "inbox.json").is_file()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nowhere"], "There is no folder"),
        (["in/a.mp4"], "is a file, not a folder"),
        (["in", "--movement", "squad"], "There is no movement called 'squad'"),
        (["in", "--out", "in"], "is the inbox itself"),
        (["in", "--out", "other"], "holds no sorted inbox"),
        (["in", "--manifest", "none.csv"], "There is no file none.csv"),
    ],
)
def test_what_cannot_be_used_is_refused_with_nothing_written(
    arguments: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write_take(tmp_path / "in" / "a.mp4", take(61, frames=24))
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "mine.txt").write_text("keep")
    monkeypatch.chdir(tmp_path)
    assert main(["inbox", *arguments]) == 2
    assert says in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in", "other"]
