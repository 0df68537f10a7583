"""The file of the record: layout and its versions, what may not be changed, what goes with what, who may write."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from cuebook.errors import RecordError
from cuebook.record import Record
from cuebook.record.connect import NOT_WAL, log_is_safe
from cuebook.record.migrate import migrate, migrations, statements, version_of
from tests.edit_samples import book_of, new_review
from tests.record_samples import desk_in

FIXTURES = Path(__file__).parents[1] / "fixtures"
NEXT = max(migrations()) + 1
LATER = """-- A later version, invented for this test.
ALTER TABLE clip ADD COLUMN keep_until TEXT;
CREATE TABLE kit (name TEXT) STRICT;
"""


def schema(path: Path) -> list[tuple]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute(
            "SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' ORDER BY 1, 2"
        ).fetchall()


def opened(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA foreign_keys = ON")
    return db


def from_fixture(path: Path) -> Path:
    with closing(sqlite3.connect(path)) as db:
        db.executescript((FIXTURES / "record_layout_1.sql").read_text(encoding="utf-8"))
    return path


def test_the_settings_that_keep_what_was_committed(tmp_path) -> None:
    """https://www.sqlite.org/pragma.html: synchronous 2 is FULL; with the write-ahead log it syncs every commit."""
    with Record(tmp_path / "record.sqlite") as record:
        asked = {
            n: record.rows(f"PRAGMA {n}")[0][0] for n in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    assert asked == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


def test_every_table_is_strict(tmp_path) -> None:
    with Record(tmp_path / "record.sqlite") as record:
        tables = [
            r for r in record.rows("PRAGMA table_list") if r["type"] == "table" and not r["name"].startswith("sqlite_")
        ]
    assert len(tables) == 11
    assert all(t["strict"] for t in tables)


def test_a_file_of_layout_1_becomes_what_a_new_one_is(tmp_path) -> None:
    old = from_fixture(tmp_path / "old.sqlite")
    before = schema(old)
    with Record(old) as record, Record(tmp_path / "new.sqlite") as new:
        assert version_of(record._connection()) == version_of(new._connection()) == max(migrations())
        assert [r["text"] for r in record.rows("SELECT text FROM note")] == ["Knees drift in."]
    assert schema(old) == schema(tmp_path / "new.sqlite")
    assert before, "the fixture holds a layout"


def test_a_later_layout_is_applied_once_after_a_back_up_copy(tmp_path) -> None:
    """user_version lies in the header and changes with its transaction (https://www.sqlite.org/pragma.html)."""
    path = from_fixture(tmp_path / "record.sqlite")
    before = schema(path)
    known = {**migrations(), NEXT: LATER}
    with closing(opened(path)) as db:
        assert migrate(db, path, known=known) == NEXT
        assert migrate(db, path, known=known) == NEXT
        assert db.execute("SELECT count(*) FROM note").fetchone()[0] == 1
        db.execute("INSERT INTO kit VALUES ('chair')")
    assert schema(tmp_path / "record.layout-1.backup.sqlite") == before
    assert schema(path) != before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["record.layout-1.backup.sqlite", "record.sqlite"]
    fresh = tmp_path / "fresh.sqlite"
    with closing(opened(fresh)) as db:
        migrate(db, fresh, known=known)
    assert [s[:2] for s in schema(fresh)] == [s[:2] for s in schema(path)]


def test_a_layout_that_fails_half_way_leaves_the_file_as_it_was(tmp_path) -> None:
    path = from_fixture(tmp_path / "record.sqlite")
    before = schema(path)
    broken = LATER + "CREATE TABLE clip (id INTEGER);\n"
    with closing(opened(path)) as db:
        with pytest.raises(sqlite3.OperationalError, match="already exists"):
            migrate(db, path, known={**migrations(), 2: broken})
        assert version_of(db) == 1
    assert schema(path) == before


def test_a_newer_file_and_a_stranger_are_refused_in_one_sentence(tmp_path) -> None:
    newer = from_fixture(tmp_path / "newer.sqlite")
    with closing(opened(newer)) as db:
        db.execute("PRAGMA user_version = 7")
    with pytest.raises(RecordError, match=r"layout 7, this one knows 2\): update cuebook first\.$"):
        Record(newer)
    stranger = tmp_path / "stranger.sqlite"
    with closing(opened(stranger)) as db:
        db.execute("CREATE TABLE recipes (name TEXT)")
    with pytest.raises(RecordError, match="belongs to another program"):
        Record(stranger)
    assert [s[1] for s in schema(stranger)] == ["recipes"]
    text = tmp_path / "text.sqlite"
    text.write_text("Dear diary, " * 200)
    with pytest.raises(RecordError, match="no record or is damaged"):
        Record(text)
    assert text.read_text().startswith("Dear diary")


def test_statements_of_a_trigger_stay_together() -> None:
    text = (
        "CREATE TABLE a (b);\n-- c;\nCREATE TRIGGER d BEFORE DELETE ON a\nBEGIN\n    SELECT 1;\n    SELECT 2;\nEND;\n"
    )
    assert len(statements(text)) == 2
    assert [n for n in migrations()] == list(range(1, len(migrations()) + 1))


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE event SET who = 'x'",
        "DELETE FROM event",
        "UPDATE review SET body_json = '{}'",
        "UPDATE correction SET words = 'x'",
        "UPDATE step SET action = 'redo'",
    ],
)
def test_what_was_written_down_is_never_changed(tmp_path, change: str) -> None:
    with desk_in(tmp_path) as desk:
        desk.drop("r1")
        with pytest.raises(sqlite3.IntegrityError, match=r"never changed|only ever added"), desk.record.writing() as db:
            db.execute(change)


def test_all_that_hangs_on_a_clip_can_go_with_it_and_the_events_stay(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.note("Knees drift in.", at_s=1.0)
        desk.mark("plumb", 1.0, ["left_knee"])
        desk.overrule("depth", "met", reason="seen")
        desk.save_draft(desk.draft_feedback())
        desk.save_review()
        desk.keep(half_note={"text": "x"})
        desk.undo()
        events = desk.record.rows("SELECT count(*) FROM event")[0][0]
        with desk.record.writing() as db:
            db.execute("DELETE FROM clip")
        tables = ("review", "correction", "step", "note", "mark", "overruled", "draft", "unfinished", "reference_clip")
        assert {t: desk.record.rows(f"SELECT count(*) FROM {t}")[0][0] for t in tables} == dict.fromkeys(tables, 0)
        assert desk.record.rows("SELECT count(*) FROM event")[0][0] == events
        told = " ".join(f"{r['what']} {r['subject']}" for r in desk.record.rows("SELECT * FROM event"))
        assert "Knees" not in told, "an event tells that a note was written and not what it says"
        assert desk.record.rows("PRAGMA foreign_key_check") == []


def test_a_transaction_that_fails_leaves_nothing(tmp_path) -> None:
    with Record(tmp_path / "record.sqlite") as record:
        first = "INSERT INTO event (at, who, what, subject) VALUES ('', '', '', '')"
        with pytest.raises(sqlite3.IntegrityError, match="NOT NULL"), record.writing() as db:
            db.execute(first) and db.execute("INSERT INTO event (at) VALUES ('')")
        assert record.rows("SELECT count(*) FROM event")[0][0] == 0


def test_each_thread_has_a_connection_of_its_own(tmp_path) -> None:
    with Record(tmp_path / "record.sqlite") as record:
        seen = [record._connection()]
        thread = threading.Thread(target=lambda: seen.append(record._connection()))
        thread.start()
        thread.join()
        assert seen[0] is record._connection()
        assert seen[0] is not seen[1]


def test_a_record_that_is_in_use_says_so(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("cuebook.record.connect.BUSY_MS", 50)
    with Record(tmp_path / "record.sqlite") as record, closing(opened(tmp_path / "record.sqlite")) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match="in use by another program"), record.writing():
            pass
        assert record.rows("SELECT count(*) FROM clip")[0][0] == 0, "reading goes on (https://www.sqlite.org/wal.html)"


def test_shared_drives_and_synchronised_folders_do_without_the_log(tmp_path) -> None:
    """https://www.sqlite.org/wal.html: the log does not work over a network file system."""
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/sda1 / ext4 rw 0 0\nbox:/home {tmp_path}/net\\040drive nfs4 rw 0 0\n")
    assert log_is_safe(tmp_path / "record.sqlite", mounts=mounts)
    assert not log_is_safe(tmp_path / "net drive" / "coach" / "record.sqlite", mounts=mounts)
    assert log_is_safe(tmp_path / "record.sqlite", mounts=tmp_path / "none")
    synced = tmp_path / "Nextcloud" / "coach"
    assert not log_is_safe(synced / "record.sqlite", mounts=mounts)
    with Record(synced / "record.sqlite") as record:
        assert record.message == NOT_WAL
        assert record.rows("PRAGMA journal_mode")[0][0] == "delete"
    with desk_in(synced) as desk:
        desk.drop("r1")
        assert desk.message == NOT_WAL
    with desk_in(synced) as desk:
        assert [s.id for s in desk.state.spans] == ["r2", "r3"]


def test_a_back_up_copy_is_whole_while_the_record_is_in_use(tmp_path) -> None:
    with desk_in(tmp_path) as desk:
        desk.note("One", at_s=1.0)
        desk.record.backup(tmp_path / "copy.sqlite")
    with Record(tmp_path / "copy.sqlite") as copy:
        assert [r["text"] for r in copy.rows("SELECT text FROM note")] == ["One"]


WRITER = """
import sys
from pathlib import Path
from cuebook.record import Record
from tests.edit_samples import book_of
book = book_of(Record(Path(sys.argv[1])), 1, author=sys.argv[2])
for k in range(25):
    book.apply({"kind": "note", "text": f"{sys.argv[2]} {k}", "at_s": 1.0})
"""


@pytest.mark.slow
def test_two_programs_write_at_once_and_nothing_is_lost(tmp_path) -> None:
    path, here = tmp_path / "record.sqlite", Path(__file__).parents[2]
    with Record(path) as record:
        new_review(record)
    run = [subprocess.Popen([sys.executable, "-c", WRITER, str(path), who], cwd=here) for who in ("A", "B")]
    assert [p.wait(timeout=300) for p in run] == [0, 0]
    with Record(path) as record:
        book = book_of(record, 1)
        assert sorted(n.text for n in book.state.notes) == sorted(f"{w} {k}" for w in "AB" for k in range(25))
        assert len(book.history()) == 50
        assert {r["text"] for r in record.rows("SELECT text FROM note")} == {n.text for n in book.state.notes}
