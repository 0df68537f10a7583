"""What goes out of a desk: feedback and reference clip, each noted in the record."""

from __future__ import annotations

import json

import pytest

from cuebook.errors import ModelError
from cuebook.model import Draft
from tests.desk_samples import sample_review
from tests.record_samples import COACH, desk_in


@pytest.fixture(scope="module")
def filmed(tmp_path_factory):
    return sample_review(tmp_path_factory.mktemp("clip") / "squat.mp4", reps=2)


def test_the_feedback_of_a_desk_is_kept_before_it_is_written(filmed, tmp_path) -> None:
    with desk_in(tmp_path, filmed) as desk:
        desk.note("Sit a hand deeper", at_s=filmed.repetitions[0].turn_s, severity="change", cue="depth")
        out = desk.write_feedback(tmp_path / "greta", athlete="Greta Maarlund")
        assert desk.draft.version == 1
        assert "Sit a hand deeper." in (out / "message.txt").read_text()
        assert (out / "picture.jpg").is_file()
        desk.write_feedback(tmp_path / "greta", draft=Draft(praise="", fix="Deeper.", next=""))
        assert [d.version for d in desk.drafts()] == [1, 2]
        assert (out / "message.txt").read_text().startswith("Deeper.\n")
        with pytest.raises(ModelError, match="take out 3"):
            desk.write_feedback(tmp_path / "other", draft=Draft(praise="", fix="word " * 63, next=""))
        assert not (tmp_path / "other").exists()
        told = [r["what"] for r in desk.record.rows("SELECT what FROM event WHERE what LIKE 'write version%'")]
        assert told == [f"write version {n} of the feedback into a folder" for n in (1, 2)]


def test_the_reference_of_a_desk_is_noted_in_the_record(filmed, tmp_path) -> None:
    with desk_in(tmp_path, filmed) as desk:
        desk.drop("r1")
        out = desk.write_reference(tmp_path / "reference", repetition="r2", credit="A drawn figure, no person.")
        row = desk.record.rows("SELECT folder, body_json, author FROM reference_clip")[0]
        assert (row["folder"], row["author"]) == (str(out), COACH)
        body = json.loads(row["body_json"])
        assert body == json.loads((out / "reference.json").read_text())
        assert (body["repetition"]["id"], body["repetition"]["number"]) == ("r2", 1)


def test_a_still_shows_the_marks_of_its_instant(filmed, tmp_path) -> None:
    at_s = filmed.repetitions[0].turn_s
    with desk_in(tmp_path, filmed) as desk:
        plain = desk.still_at(at_s)
        desk.mark("plumb", at_s, ["left_knee"])
        assert desk.still_at(at_s) != plain == desk.still_at(at_s, marks=False)
        assert plain[:2] == b"\xff\xd8"
