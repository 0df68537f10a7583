"""Feedback: at most 60 words, true to the coach's notes, one picture, all files or none."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from cuebook.assess.mark_angle import mark_angle
from cuebook.errors import ClipError, ModelError, OutputError
from cuebook.model import Change, Corrections, DeskState, Draft, Mark, Note, Overruled, Picture, count_words
from cuebook.movements.cautions import CAUTION
from cuebook.repetitions import proposed_spans
from cuebook.report import draft_feedback, feedback_page, feedback_warnings, still_at, write_feedback
from cuebook.report.feedback_draft import STOP_NEXT, shortened
from cuebook.report.feedback_files import picture_words

MADE = (Change(at="2026-11-02T18:00:00.000Z", who="Orla Vennick", what="write a note"),)
AMBER = np.array([255, 206, 70])


def with_state(review, **state):
    """The review as a coach corrected it; the drawn one has measures of its own, so it is not judged anew."""
    spans = proposed_spans(review.repetitions)
    made = Corrections(changes=MADE, proposed=review.repetitions, state=DeskState(spans=spans, **state),
                       numbers={s.id: k + 1 for k, s in enumerate(spans)})  # fmt: skip
    return replace(review, corrections=made)


def note(text: str, severity: str = "change", **fields) -> Note:
    return Note(id=f"n{abs(hash(text)) % 9999}", text=text, severity=severity, **fields)


def test_without_notes_the_draft_is_what_was_measured(review) -> None:
    draft = draft_feedback(review)
    said = review.headline
    assert (draft.praise, draft.fix, draft.next) == (said.praise, said.fix, said.next)
    assert draft.picture.kind == "still"
    assert draft.picture.cue == "depth"
    assert draft.words <= 60


def test_the_coachs_notes_take_the_place_of_what_was_measured(review) -> None:
    notes = (note("Knees drift", cue="depth", at="1"), note("Other thing", at="2"), note("Calm breath", "praise"),
             note("tired today", "remark"))  # fmt: skip
    draft = draft_feedback(with_state(review, notes=notes))
    assert (draft.praise, draft.fix, draft.next) == ("Calm breath.", "Knees drift.", "Next set: think of that alone.")
    assert "tired" not in draft.text


def test_what_is_to_be_changed_is_not_praised(review) -> None:
    cue = review.movement.cue("depth")
    praised = replace(review, headline=replace(review.headline, praise=cue.praise))
    draft = draft_feedback(with_state(praised, notes=(note("Deeper in the second one", cue="depth"),)))
    assert draft.fix == "Deeper in the second one."
    assert draft.praise != cue.praise
    assert draft_feedback(with_state(praised, notes=(note("Eyes ahead", cue="lean"),))).praise == cue.praise


def test_the_picture_speaks_to_the_athlete(review) -> None:
    said = picture_words(review, draft_feedback(review).picture)
    assert said.startswith("You in repetition ")
    turn = review.repetitions[1].turn_s
    assert picture_words(review, Picture(kind="marked", at_s=turn, repetition="r2")) == (
        "You in repetition 2, with your coach's marks"
    )


def test_a_stop_comes_before_everything_and_is_never_shortened(review) -> None:
    long = " ".join(["word"] * 70)
    notes = (note("Change this"), note("Your knee hurts", "stop"), note(long, "praise"))
    draft = draft_feedback(with_state(review, notes=notes))
    assert draft.fix == "Your knee hurts."
    assert draft.next == STOP_NEXT
    assert draft.words <= 60


@pytest.mark.parametrize("part", ["praise", "fix", "next"])
def test_whole_sentences_are_left_out_of_a_long_draft(part: str) -> None:
    draft = Draft(praise="Good.", fix="Do it.", next="Again.")
    long = "One two three four. " * 20
    short = shortened(replace(draft, **{part: long}))
    assert short.words <= 60
    assert getattr(short, part).endswith("One two three four.")
    assert shortened(draft) == draft


def test_words_are_what_has_a_letter_or_a_digit() -> None:
    assert count_words("Push – the floor away, 2 x 8!") == 7
    assert count_words(" \n") == 0


def test_marks_are_the_picture_where_there_are_any(review) -> None:
    turn = review.repetitions[1].turn_s
    marks = (Mark(id="m1", kind="plumb", at_s=1.0, joints=("left_knee",)),
             Mark(id="m2", kind="circle", at_s=turn, joints=("left_knee",)))  # fmt: skip
    data = with_state(review, marks=marks, notes=(note("Here", at_s=turn),))
    assert draft_feedback(data).picture == Picture(kind="marked", at_s=turn, repetition="r2")


@pytest.mark.parametrize(
    ("kind", "joints", "extra"),
    [
        ("line", ("left_hip", "left_knee"), {}),
        ("plumb", ("left_knee",), {}),
        ("angle", ("left_hip", "left_knee", "left_ankle"), {}),
        ("arrow", ("left_hip",), {"to": (0.3, 0.1)}),
        ("arrow", ("left_hip", "left_ankle"), {}),
        ("circle", ("left_knee",), {"size": 0.3}),
        ("text", ("left_knee",), {"text": "here"}),
    ],
)
def test_every_kind_of_mark_is_seen_on_the_still(review, kind: str, joints, extra) -> None:
    at_s = review.repetitions[0].turn_s
    mark = Mark(id="m1", kind=kind, at_s=at_s, joints=joints, **extra)
    data = with_state(review, marks=(mark,))

    def amber(jpeg: bytes) -> int:
        picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)[..., ::-1].astype(int)
        return int((np.abs(picture - AMBER).max(axis=2) < 40).sum())

    assert amber(still_at(data, at_s)) > amber(still_at(data, at_s, marks=False)) + 30
    assert still_at(data, at_s + 0.5) == still_at(data, at_s + 0.5, marks=False), "marks stay with their frame"


def test_an_angle_between_known_joints_is_the_measured_one_with_its_uncertainty(review) -> None:
    at_s = review.repetitions[0].turn_s
    knee = Mark(id="m1", kind="angle", at_s=at_s, joints=("left_ankle", "left_knee", "left_hip"))
    signal = review.motion.signals["left_knee_flexion"]
    here = int(np.argmin(np.abs(signal.times_s - at_s)))
    found = mark_angle(review, knee)
    assert found.value == pytest.approx(signal.values[here], abs=2.0)
    assert found.uncertainty == pytest.approx(signal.sigma[here], abs=1.0)
    plain = mark_angle(review, replace(knee, joints=("mid_shoulder", "mid_hip", "left_knee")))
    assert plain.uncertainty is None
    assert 0.0 <= plain.value <= 180.0
    hidden = replace(review, motion=replace(review.motion, signals={}))
    assert mark_angle(hidden, knee) is None, "what the clip does not measure gets no number"


def test_the_files_of_the_feedback(review, tmp_path) -> None:
    draft = Draft(
        praise="Even tempo.", fix="Push the floor <away>.", next="Same load.", picture=draft_feedback(review).picture
    )
    out = write_feedback(review, draft, tmp_path / "greta", athlete="Greta Maarlund")
    assert sorted(p.name for p in out.iterdir()) == ["feedback.html", "message.txt", "picture.jpg"]
    text = (out / "message.txt").read_text()
    assert text == f"Even tempo.\n\nPush the floor <away>.\n\nSame load.\n\n{CAUTION}\n"
    page = (out / "feedback.html").read_text()
    assert "Push the floor &lt;away&gt;." in page
    assert "Greta Maarlund" in page
    assert 'name="viewport"' in page
    assert all(part in page for part in (CAUTION, *review.movement.cautions))
    assert "http" not in page.replace("http-equiv", "")
    assert (out / "picture.jpg").read_bytes()[:2] == b"\xff\xd8"
    write_feedback(review, replace(draft, picture=None), out)
    assert sorted(p.name for p in out.iterdir()) == ["feedback.html", "message.txt"]


def test_too_many_words_or_a_wrong_place_write_nothing(review, tmp_path) -> None:
    long = Draft(praise="", fix=" ".join(["word"] * 61), next="")
    with pytest.raises(ModelError, match="has 61 words and 60 are the most: take out 1"):
        write_feedback(review, long, tmp_path / "a")
    good = Draft(praise="Good.", fix="", next="")
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "review.json").write_text("{}")
    with pytest.raises(OutputError, match="a folder of its own"):
        write_feedback(review, good, tmp_path / "mine")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "letter.txt").write_text("keep")
    with pytest.raises(OutputError, match="no feedback"):
        write_feedback(review, good, tmp_path / "other")
    gone = replace(review, clip=replace(review.clip, frames=lambda **_: iter(())))
    with pytest.raises(ClipError, match="has no picture"):
        write_feedback(gone, draft_feedback(review), tmp_path / "b")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine", "other"]


def test_a_coach_is_told_what_to_look_at_before_sending(review) -> None:
    draft = Draft(praise="", fix="Left knee out.", next="", picture=Picture(kind="marked", at_s=1.0, repetition="r9"))
    crowd = replace(review, track=replace(review.track, others_seen=True), side_proven=False)
    told = " ".join(feedback_warnings(crowd, draft))
    assert "second person" in told
    assert "no longer there" in told
    assert "which side is which" in told
    assert feedback_warnings(replace(review, side_proven=True), Draft(praise="", fix="Left knee out.", next="")) == ()


def test_the_page_of_a_corrected_review_says_so(review) -> None:
    said = Overruled(
        cue="depth", repetition="r1", side=None, outcome="not_met", reason="on a block.", who="Orla Vennick"
    )
    page = feedback_page(with_state(review, overruled=(said,)), ())
    assert "Orla Vennick sees not met (on a block)" in page
    assert "measured met" in page
    assert "corrected by" not in page
    dropped = replace(with_state(review), repetitions=review.repetitions[1:])
    assert "The repetitions were corrected by Orla Vennick" in feedback_page(dropped, ())
    assert "Orla" not in feedback_page(review, ())


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Front knee at a right angle at the bottom.", False),
        ("All right, film it right away.", False),
        ("Bend to a right-angle.", False),
        ("Bend the left, then the other.", True),
        ("Right knee out.", True),
    ],
)
def test_a_right_angle_is_no_side_and_a_comma_hides_none(review, text: str, named: bool) -> None:
    told = feedback_warnings(replace(review, side_proven=False), Draft(praise="", fix=text, next=""))
    assert any("names a side" in t for t in told) is named
