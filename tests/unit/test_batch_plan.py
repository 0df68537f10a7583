"""What is to be reviewed: manifests as spreadsheets write them, folders as phones fill them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from cuebook import movements
from cuebook.batch.ledger import result_key
from cuebook.batch.plan import Default, Plan, make_plan
from cuebook.errors import BatchError, CuebookError, PoseError
from cuebook.pose import parse_pointed

HEADING = "clip,movement,athlete,side,tempo,repetitions,mirrored,capture_rate"


def manifest(folder: Path, text: str, *, coding: str = "utf-8") -> Path:
    path = folder / "week.csv"
    path.write_bytes(text.encode(coding))
    return path


def planned(folder: Path, text: str, *, coding: str = "utf-8", **default) -> Plan:
    return make_plan(manifest(folder, text, coding=coding), default=Default(**default))


def test_every_column_reaches_its_clip(tmp_path: Path) -> None:
    plan = planned(tmp_path, f"{HEADING}\nclips/a.mp4,split-squat,Ida,left,3-1-X-0,8,no,240\n")
    clip = plan.clips[0]
    assert clip.clip == tmp_path / "clips" / "a.mp4"
    assert (clip.movement.name, clip.athlete, clip.tempo) == ("split-squat", "Ida", "3-1-X-0")
    assert (clip.prescription.side, clip.prescription.repetitions) == ("left", 8)
    assert (clip.settings.mirrored, clip.capture_rate_hz) == ("no", 240.0)
    assert plan.notes == ()


def test_a_point_on_the_athlete_comes_from_the_row_or_from_outside(tmp_path: Path) -> None:
    table = 'clip,movement,person\nfront.mp4,squat,"320,400@2.5"\nb.mp4,squat,\n'
    assert [c.person for c in planned(tmp_path, table).clips] == [parse_pointed("320,400@2.5"), None]
    from_outside = planned(tmp_path, table, persons=("b.mp4=10,20@3",)).clips
    assert [str(c.person) for c in from_outside] == ["320,400@2.5", "10,20@3"]
    with pytest.raises(PoseError, match="in which of 2 clips"):
        planned(tmp_path, table, persons=("10,20@3",))
    with pytest.raises(BatchError, match="line 2: 'left' is no point"):
        planned(tmp_path, "clip,movement,person\na.mp4,squat,left\n")


def test_both_people_of_one_clip_are_two_rows_with_folders_of_their_own(tmp_path: Path) -> None:
    table = 'clip,movement,person\nroom.mp4,squat,"100,400@2"\nroom.mp4,squat,"500,400@2"\n'
    clips = planned(tmp_path, table).clips
    assert len({c.folder for c in clips}) == 2
    assert len({result_key(c, sha256="0" * 64, video=False) for c in clips}) == 2


def test_landmarks_outside_a_workspace_go_where_it_was_asked(tmp_path: Path) -> None:
    assert planned(tmp_path, "clip\na.mp4\n", movement="squat").clips[0].cache_dir is None
    asked = planned(tmp_path, "clip\na.mp4\n", movement="squat", tracks=tmp_path / "tracks")
    assert asked.clips[0].cache_dir == tmp_path / "tracks"


def test_what_a_row_leaves_open_is_taken_from_the_options(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        f"{HEADING}\na.mp4,,,,,,,\nb.mp4,push-up,,,2-0-1-0,5,,\n",
        movement="squat", tempo="3-1-1-0", repetitions=8,
    )  # fmt: skip
    assert [(c.movement.name, c.tempo, c.prescription.repetitions) for c in plan.clips] == [
        ("squat", "3-1-1-0", 8),
        ("push-up", "2-0-1-0", 5),
    ]


@pytest.mark.parametrize(
    ("text", "coding"),
    [("clip;athlete;capture_rate\nzoë.mp4;Zoë;239,76\n", "utf-8-sig"),
     ("clip;athlete;capture_rate\r\nzoë.mp4;Zoë;239,76\r\n", "cp1252"),
     ("clip\tathlete\tcapture_rate\nzoë.mp4\tZoë\t239.76\n", "utf-16"),
     ("\n Clip , ATHLETE , Capture Rate \n\n\"zoë.mp4\", \"Zoë\", \"239.76\"\n,,\n", "utf-8")],
)  # fmt: skip
def test_what_spreadsheets_write_is_read(tmp_path: Path, text: str, coding: str) -> None:
    plan = planned(tmp_path, text, coding=coding, movement="squat")
    assert [(c.name, c.athlete, c.capture_rate_hz) for c in plan.clips] == [("zoë.mp4", "Zoë", 239.76)]


def test_unknown_columns_are_named_once_and_kept(tmp_path: Path) -> None:
    plan = planned(tmp_path, "clip,RPE,State\na.mp4,7,tired\n", movement="squat")
    assert plan.columns == ("RPE", "State")
    assert plan.clips[0].extra == {"RPE": "7", "State": "tired"}
    assert len(plan.notes) == 1
    assert "'RPE', 'State'" in plan.notes[0]


@pytest.mark.parametrize(
    ("cells", "said"),
    [("a.mp4,squad,,,,,,", "did you mean squat"),
     ("a.mp4,squat,,left,,,,", "leave the side out"),
     ("a.mp4,split-squat,,port,,,,", "'port'"),
     ("a.mp4,squat,,,3-1-1,,,", "three numbers"),
     ("a.mp4,squat,,,,eight,,", "'eight'"),
     ("a.mp4,squat,,,,2.5,,", "'2.5'"),
     ("a.mp4,squat,,,,0,,", "whole number from 1"),
     ("a.mp4,squat,,,,,perhaps,", "'perhaps'"),
     ("a.mp4,squat,,,,,,fast", "'fast'"),
     ("a.mp4,squat,,,,,,0", "frames per second"),
     ("a.mp4,,,,,,,", "no movement is named"),
     (",squat,,,,,,", "the column 'clip' is empty"),
     ("a.mp4,squat,,,,,,,surplus", "9 cells")],
)  # fmt: skip
def test_a_bad_row_is_named_by_its_line(tmp_path: Path, cells: str, said: str) -> None:
    with pytest.raises(BatchError) as caught:
        planned(tmp_path, f"{HEADING}\nfine.mp4,squat,,,,,,\n{cells}\n")
    message = str(caught.value)
    assert message.startswith("week.csv cannot be used: line 3")
    assert said in message
    assert "\n" not in message


def test_many_bad_rows_are_named_together_and_counted(tmp_path: Path) -> None:
    rows = "\n".join(f"{i}.mp4,squad,,,,,," for i in range(9))
    with pytest.raises(BatchError, match=r"line 2: .*; line 6: .*; and 4 more\.$"):
        planned(tmp_path, f"{HEADING}\n{rows}\n")


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"video,movement\na.mp4,squat\n", "no column 'clip'"), (b"", "no column 'clip'"),
     (b"clip,clip\na,b\n", "stands there twice"), (b'clip\n"a.mp4\n', "line 2"),
     (b"PK\x03\x04\x00\x00\x00clip", "no table of text"), (b"clip,movement\n", "holds no clip")],
)  # fmt: skip
def test_what_is_no_manifest_is_refused_in_one_sentence(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "week.csv"
    path.write_bytes(data)
    with pytest.raises(BatchError, match=said):
        make_plan(path)


def test_a_manifest_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BatchError, match=r"gone\.csv"):
        make_plan(tmp_path / "gone.csv")


def test_a_name_written_with_backslashes_is_found(tmp_path: Path) -> None:
    (tmp_path / "clips").mkdir()
    (tmp_path / "clips" / "a.mp4").write_text("x")
    plan = planned(tmp_path, "clip\nclips\\a.mp4\n", movement="squat")
    assert plan.clips[0].clip == tmp_path / "clips" / "a.mp4"


def fill(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(name)


def test_folders_with_names_of_movements_tell_the_movement(tmp_path: Path) -> None:
    fill(tmp_path, "squat/a.MP4", "squat/ida/b.mov", "push-up/c.mp4", "d.mp4")
    plan = make_plan(tmp_path, default=Default(movement="glute-bridge"))
    assert [(c.name, c.movement.name) for c in plan.clips] == [
        ("d.mp4", "glute-bridge"),
        ("push-up/c.mp4", "push-up"),
        ("squat/a.MP4", "squat"),
        ("squat/ida/b.mov", "squat"),
    ]


def test_hidden_files_reviews_and_results_are_no_clips_and_others_are_named(tmp_path: Path) -> None:
    fill(tmp_path, "a.mp4", "._a.mp4", ".trash/b.mp4", "a.review/annotated.mp4", "old.batch/c.mp4", "out/d.mp4",
         "notes.txt", "IMG_0042")  # fmt: skip
    plan = make_plan(tmp_path, default=Default(movement="squat"), leave_out=tmp_path / "out")
    assert [c.name for c in plan.clips] == ["a.mp4"]
    assert plan.notes == ("Left out, as they are no clips by their ending: IMG_0042, notes.txt.",)


def test_a_clip_of_a_folder_without_movement_is_named(tmp_path: Path) -> None:
    fill(tmp_path, "squat/a.mp4", "misc/b.mp4")
    with pytest.raises(BatchError, match=r"misc/b\.mp4: no movement is named"):
        make_plan(tmp_path)


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BatchError, match="holds no clip"):
        make_plan(tmp_path)


def test_clips_of_the_same_name_get_folders_of_their_own_that_stay_the_same(tmp_path: Path) -> None:
    fill(tmp_path, "ida/IMG_0042.mp4", "zoe/img_0042.mov", "zoe/set.mp4", "zoe/set.mov")
    default = Default(movement="squat")
    folders = [c.folder for c in make_plan(tmp_path, default=default).clips]
    assert len({f.casefold() for f in folders}) == 4
    fill(tmp_path, "amy/IMG_0042.mp4")
    again = {c.name: c.folder for c in make_plan(tmp_path, default=default).clips}
    assert [again[n] for n in ("ida/IMG_0042.mp4", "zoe/img_0042.mov")] == folders[:2]


def test_one_clip_may_be_asked_for_two_movements(tmp_path: Path) -> None:
    plan = planned(tmp_path, "clip,movement\na.mp4,squat\na.mp4,split-squat\na.mp4,split-squat\n")
    assert len({c.folder for c in plan.clips}) == 3


def test_settings_movements_and_cache_of_a_workspace_are_used(tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text("[outcome]\nmet_at = 0.95\n[tempo]\nmoving_s = 0.25\n", encoding="utf-8")
    fill(tmp_path, "clips/squat/a.mp4")
    clip = make_plan(tmp_path / "clips").clips[0]
    assert clip.settings.met_at == 0.95
    assert clip.margins.moving_s == 0.25
    assert clip.cache_dir == tmp_path / "cache"


@pytest.mark.parametrize(
    ("options", "said"),
    [({"movement": "squad"}, "The option --movement cannot be used: There is no movement"),
     ({"movement": "squat", "tempo": "3-x"}, "The option --tempo cannot be used: The tempo '3-x' has 2 slots")],
)  # fmt: skip
def test_a_wrong_option_is_said_once_and_not_of_every_clip(tmp_path: Path, options: dict[str, str], said: str) -> None:
    fill(tmp_path, *(f"{number}.mp4" for number in range(7)))
    with pytest.raises(BatchError) as caught:
        make_plan(tmp_path, default=Default(**options))
    message = str(caught.value)
    assert message.startswith(said)
    assert ".mp4" not in message
    assert message.count("squad") + message.count("3-x") == 1


def test_a_movement_of_one_workspace_is_refused_only_of_clips_that_lie_elsewhere(tmp_path: Path) -> None:
    fill(tmp_path, "elsewhere.mp4", "club/here.mp4")
    (tmp_path / "club" / "cuebook.toml").touch()
    (tmp_path / "club" / "movements").mkdir()
    known = Path(movements.__file__).parent / "squat.toml"
    shutil.copy(known, tmp_path / "club" / "movements" / "box-squat.toml")
    with pytest.raises(BatchError) as caught:
        make_plan(tmp_path, default=Default(movement="box-squat"))
    assert "elsewhere.mp4: There is no movement" in str(caught.value)
    assert "here.mp4: " not in str(caught.value).replace("elsewhere.mp4: ", "")


def test_a_workspace_file_that_is_wrong_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "cuebook.toml").write_text("[outcome]\nmet = 1\n", encoding="utf-8")
    fill(tmp_path, "squat/a.mp4")
    with pytest.raises(CuebookError, match=r"cuebook\.toml"):
        make_plan(tmp_path)
