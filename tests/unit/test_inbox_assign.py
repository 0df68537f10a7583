"""Whose clip it is: answers before the manifest, before folders, before file names; and what the tables refuse."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuebook.errors import InboxError
from cuebook.inbox.answers import answers_text, read_answers
from cuebook.inbox.assign import from_answers, from_path, from_row
from cuebook.inbox.entries import Known, Question
from cuebook.inbox.library import Library, read_library
from cuebook.inbox.manifest import match_files, read_manifest

ROSTER = ("Greta Maarlund", "Idris Pell", "Maud Otterley")


@pytest.fixture(scope="module")
def library() -> Library:
    return read_library(None)


def table(folder: Path, text: str, name: str = "manifest.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("file", "athlete", "movement"),
    [
        ("Greta Maarlund/squat/IMG_0042.MOV", "Greta Maarlund", "squat"),
        ("greta_maarlund/Push-up/a.mp4", "Greta Maarlund", "push-up"),
        ("week 3/DCIM/idris pell split squat set 2 left.mp4", "Idris Pell", "split-squat"),
        ("Maud Otterley/push-up to inverted V/x.mp4", "Maud Otterley", "push-up-to-inverted-v"),
        ("Fenn Otterley/squat/IMG_0042.MOV", "Fenn Otterley", "squat"),
        ("Fenn Otterley/idris pell.mp4", "Idris Pell", ""),
        ("Greta Maarlund/holiday/squat.mp4", "Greta Maarlund", "squat"),
        ("Maud/IMG_0042.MOV", "", ""),
        ("Maud O/IMG_0042.MOV", "", ""),
        ("messages/IMG_0042.MOV", "", ""),
        ("squat from the side/IMG_0042.MOV", "", "squat"),
        ("100APPLE/IMG_0042.MOV", "", ""),
    ],
)
def test_folders_and_names_with_a_roster(library: Library, file: str, athlete: str, movement: str) -> None:
    found = from_path(file, library=library, roster=ROSTER)
    assert (found.athlete.value, found.movement.value) == (athlete, movement)


def test_set_and_side_are_read_too(library: Library) -> None:
    found = from_path("Idris Pell/split squat/set 2 left.mp4", library=library, roster=ROSTER)
    assert (found.set_number.value, found.side.value) == ("2", "left")


def test_without_a_roster_a_folder_is_a_name_unless_phones_call_it_so(library: Library) -> None:
    assert from_path("Tamsin Broad/x.mp4", library=library, roster=()).athlete == Known(
        value="Tamsin Broad", by="folder"
    )
    for folder in ("DCIM", "Camera", "100APPLE", "week 12", "2026-01-14", "new"):
        assert not from_path(f"{folder}/x.mp4", library=library, roster=()).athlete, folder


def test_the_surest_statement_wins(library: Library, tmp_path: Path) -> None:
    rows = read_manifest(table(tmp_path, "file,athlete,movement\nx.mp4,Idris Pell,Squat\n"), library=library)
    row = match_files(rows, ["Greta Maarlund/push-up/x.mp4"], manifest="manifest.csv")["Greta Maarlund/push-up/x.mp4"]
    path = from_path("Greta Maarlund/push-up/x.mp4", library=library, roster=ROSTER)
    found = from_answers({"movement": "glute-bridge"}).over(from_row(row)).over(path)
    assert found.athlete == Known(value="Idris Pell", by="manifest")
    assert found.movement == Known(value="glute-bridge", by="answer")


def test_semicolons_marks_and_capitals_of_spreadsheets_are_read(library: Library, tmp_path: Path) -> None:
    path = tmp_path / "m.csv"
    path.write_bytes(
        "File;Athlete;Movement;E-mail\nA.mov;Greta Maarlund;Standing knee raise;x\n;;;\n".encode("utf-8-sig")
    )
    (row,) = read_manifest(path, library=library)
    assert (row.file, row.movement) == ("A.mov", "standing-knee-raise")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "file,athlete,movement\nx.mp4,Greta,squad\n",
            "line 2: there is no movement called 'squad', did you mean squat",
        ),
        ("file,athelete\nx.mp4,Greta\n", "column 'athelete': did you mean 'athlete'?"),
        ("file,athlete,due\n,Greta,tomorrow\n", "line 2: 'due' is 'tomorrow': write a date as 2026-01-14"),
        ("file,athlete,side\nx.mp4,Greta,links\n", "line 2: 'side' is 'links': write left or right"),
        ("file,capture_rate_hz\nx.mp4,slow\n", "write frames per second, such as 240"),
        ("colour\nred\n", "names neither files nor athletes"),
        ("", "has no headings"),
    ],
)
def test_a_manifest_that_cannot_be_used_is_refused(library: Library, tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InboxError) as caught:
        read_manifest(table(tmp_path, text), library=library)
    assert says in str(caught.value)


def test_a_name_that_fits_five_phones_is_refused(library: Library, tmp_path: Path) -> None:
    rows = read_manifest(table(tmp_path, "file,athlete\nIMG_0042.MOV,Greta\n"), library=library)
    with pytest.raises(InboxError, match="2 files are called IMG_0042"):
        match_files(rows, ["a/IMG_0042.MOV", "b/img_0042.mov"], manifest="manifest.csv")


def test_two_lines_about_one_file_are_refused(library: Library, tmp_path: Path) -> None:
    rows = read_manifest(table(tmp_path, "file,athlete\nx.mp4,Greta\nX.mp4,Idris\n"), library=library)
    with pytest.raises(InboxError, match="lines 2 and 3 both name x"):
        match_files(rows, ["x.mp4"], manifest="manifest.csv")


QUESTIONS = (
    Question(clip="0123456789ab", file="x.mp4", asks="movement", to="Greta", message='Which one, "a" or b?'),
    Question(clip="0123456789ab", file="x.mp4", asks="mirrored", to="Greta", message="Selfie?"),
)


def test_answers_survive_the_way_through_the_table(library: Library, tmp_path: Path) -> None:
    text = answers_text(QUESTIONS, ())
    path = table(tmp_path, text.replace('b?",,', 'b?",,Push-up'), "answers.csv")
    answers, rows = read_answers(path, library=library)
    assert answers == {"0123456789ab": {"movement": "push-up"}}
    again = table(tmp_path, answers_text(QUESTIONS, rows), "again.csv")
    assert read_answers(again, library=library)[0] == answers
    assert again.read_text(encoding="utf-8").count("\n") == 3


@pytest.mark.parametrize(
    ("asks", "answer", "says"),
    [
        ("movement", "jumping", "there is no movement called 'jumping'"),
        ("mirrored", "maybe", "write yes if the selfie camera filmed it"),
        ("capture_rate", "fast", "write frames per second"),
        ("person", "the tall one", "is no point: write X,Y@T"),
        ("colour", "red", "leave that column as it was written"),
    ],
)
def test_an_answer_that_cannot_be_used_is_refused(
    library: Library, tmp_path: Path, asks: str, answer: str, says: str
) -> None:
    path = table(tmp_path, f"clip,asks,answer\n0123456789ab,{asks},{answer}\n", "answers.csv")
    with pytest.raises(InboxError) as caught:
        read_answers(path, library=library)
    assert says in str(caught.value)
    assert "answers.csv line 2" in str(caught.value)


def test_every_answer_that_cannot_be_used_is_named_at_once(library: Library, tmp_path: Path) -> None:
    text = "clip,asks,answer\naa,movement,jumping\nbb,movement,squat\ncc,mirrored,maybe\n"
    with pytest.raises(InboxError) as caught:
        read_answers(table(tmp_path, text, "answers.csv"), library=library)
    first, second = str(caught.value).split("\n")
    assert first.startswith("answers.csv line 2: there is no movement called 'jumping'")
    assert second.startswith("answers.csv line 4: the answer is 'maybe'")


def test_yes_takes_the_movement_that_was_offered_and_only_that(library: Library, tmp_path: Path) -> None:
    path = table(tmp_path, "clip,asks,suggestion,answer\naa,movement,push-up,Yes\n", "answers.csv")
    assert read_answers(path, library=library)[0] == {"aa": {"movement": "push-up"}}
    with pytest.raises(InboxError, match="no movement called 'yes'"):
        read_answers(table(tmp_path, "clip,asks,suggestion,answer\naa,movement,,yes\n", "b.csv"), library=library)


def test_an_athlete_of_the_manifest_is_never_made_a_second_person(library: Library, tmp_path: Path) -> None:
    def answer(text: str) -> str:
        path = table(tmp_path, f"clip,asks,answer\naa,athlete,{text}\n", "answers.csv")
        return read_answers(path, library=library, roster=["Maud Ferrow", "Bea Lund"])[0]["aa"]["athlete"]

    assert answer("bea lund") == "Bea Lund"
    assert answer("Greta Maarlund") == "Greta Maarlund"
    with pytest.raises(InboxError, match="'Maud' is a part of Maud Ferrow: write the whole name"):
        answer("Maud")


def test_every_line_of_a_manifest_that_cannot_be_used_is_named_at_once(library: Library, tmp_path: Path) -> None:
    text = "file,athlete,movement,due\na.mp4,Greta,squad,\nb.mp4,Greta,squat,\nc.mp4,Greta,,soon\n"
    with pytest.raises(InboxError) as caught:
        read_manifest(table(tmp_path, text), library=library)
    assert [line.split(":")[0] for line in str(caught.value).split("\n")] == [
        "manifest.csv line 2",
        "manifest.csv line 4",
    ]


def test_no_answers_yet_is_fine(library: Library, tmp_path: Path) -> None:
    assert read_answers(tmp_path / "answers.csv", library=library) == ({}, [])


def test_what_came_with_a_clip_is_kept_beside_it(library: Library, tmp_path: Path) -> None:
    """The athlete's own words, whether it is new to them, and when they last heard from the coach."""
    text = "file,athlete,message,new,last_feedback\nx.mp4,Greta,my knee hurt,yes,2026-01-02\n"
    (row,) = read_manifest(table(tmp_path, text), library=library)
    found = from_row(row)
    assert (found.message.value, found.new.value, found.last_feedback.value) == ("my knee hurt", "yes", "2026-01-02")


def test_a_manifest_that_is_not_there_is_said_to_be_missing(library: Library, tmp_path: Path) -> None:
    with pytest.raises(InboxError, match=r"There is no file nope\.csv"):
        read_manifest(tmp_path / "nope.csv", library=library)
