"""The reference clip: the model repetition alone, its count, three key stills, how to film one's own."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.errors import ModelError, OutputError
from cuebook.model import Change, Corrections, DeskState, Mark
from cuebook.movements.cautions import CAUTION
from cuebook.repetitions import proposed_spans
from cuebook.report import write_reference
from cuebook.report.count_band import READY, CountBand
from cuebook.report.reference import LEAD_S, KeyPosition, angle_texts, key_positions
from tests.report_samples import REP_S


@pytest.fixture(scope="module")
def model(review):
    """The second repetition with the edges of its moving phases: 3 s down, 1 s hold, 1 s up, 1 s still."""
    at = 1.0 + REP_S
    second = replace(review.repetitions[1], edges=(at, at + 3.0, at + 4.0, at + 5.0))
    return replace(review, repetitions=(review.repetitions[0], second, *review.repetitions[2:]))


@pytest.fixture(scope="module")
def written(model, tmp_path_factory):
    return write_reference(model, tmp_path_factory.mktemp("out") / "squat", repetition="r2", consent="kept apart",
                           sentences=["Sit back to the chair.", "Heels <heavy>."], credit="A rendered figure.",
                           who="Orla Vennick")  # fmt: skip


def test_the_folder_holds_clip_stills_page_and_facts(written) -> None:
    assert sorted(p.name for p in written.iterdir()) == [
        "end.jpg", "reference.html", "reference.json", "reference.mp4", "start.jpg", "turn.jpg",
    ]  # fmt: skip


def test_the_clip_is_the_one_repetition_and_plays_everywhere(model, written) -> None:
    import av

    clip = read_clip(written / "reference.mp4")
    assert clip.codec == "h264"
    with av.open(str(written / "reference.mp4")) as held:
        assert held.streams.video[0].codec_context.pix_fmt == "yuv420p"
        assert not held.streams.audio
    rep = model.repetitions[1]
    assert model.repetitions[2].start_s == rep.end_s
    assert clip.duration_s == pytest.approx(rep.end_s - (rep.edges[0] - LEAD_S), abs=0.15), "none of the next one"


def test_the_facts_tell_where_every_figure_comes_from(model, written) -> None:
    facts = json.loads((written / "reference.json").read_text())
    assert facts["clip"]["sha256"] == model.clip.sha256
    assert facts["repetition"]["id"] == "r2"
    assert [p["name"] for p in facts["positions"]] == ["start", "turn", "end"]
    knee = facts["positions"][1]["angles"]["left_knee_flexion"]
    assert knee["value_deg"] == pytest.approx(104.0, abs=2.0), "the depth of the second repetition"
    assert knee["u_deg"] > 0
    assert (facts["sentences"][0], facts["consent"], facts["who"]) == (
        "Sit back to the chair.", "kept apart", "Orla Vennick",
    )  # fmt: skip


def test_the_page_needs_no_other_page_and_says_how_to_film(model, written) -> None:
    page = (written / "reference.html").read_text()
    assert "Heels &lt;heavy&gt;." in page
    assert "A rendered figure." in page
    assert "kept apart" not in page, "consent stays with the coach"
    assert all(part in page for part in (CAUTION, *model.movement.cautions, "Film yours like this"))
    assert 'src="reference.mp4"' in page
    assert "http" not in page
    for card in model.movement.filming:
        assert card.check in page


def test_the_page_asks_for_the_tempo_beside_what_was_measured(model, written, tmp_path) -> None:
    page = (written / "reference.html").read_text()
    tempo = model.prescription.tempo
    assert f"Count {tempo}" in page
    assert f"<td>{tempo.eccentric:g} s</td><td>{model.repetitions[1].phases['eccentric']:.1f} <span" in page
    assert json.loads((written / "reference.json").read_text())["tempo"] == str(tempo)
    free = replace(model, prescription=replace(model.prescription, tempo=None))
    page = (write_reference(free, tmp_path / "free", repetition="r2") / "reference.html").read_text()
    assert "You count" not in page
    assert "How long it takes" in page


def test_the_stills_are_alike_and_carry_no_marks_of_the_desk(model, written, tmp_path) -> None:
    import cv2

    sizes = {cv2.imread(str(written / f"{name}.jpg")).shape for name in ("start", "turn", "end")}
    assert len(sizes) == 1
    spans = proposed_spans(model.repetitions)
    mark = Mark(id="m1", kind="circle", at_s=model.repetitions[1].turn_s, joints=("left_knee",), size=0.3)
    made = Corrections(changes=(Change(at="2026-11-02T18:00:00.000Z", who="Orla Vennick", what="mark"),),
                       proposed=model.repetitions, state=DeskState(spans=spans, marks=(mark,)),
                       numbers={s.id: k + 1 for k, s in enumerate(spans)})  # fmt: skip
    marked = write_reference(replace(model, corrections=made), tmp_path / "marked", repetition="r2")
    assert (marked / "turn.jpg").read_bytes() == (written / "turn.jpg").read_bytes()


def test_the_count_rises_by_one_a_second_and_starts_anew_with_each_phase(model) -> None:
    rep = model.repetitions[1]
    band = CountBand(model, rep, sentences=("Sit back.",), width=360, short_side=360)
    assert band.running(rep.start_s - 0.2) is None
    down = [band.count(rep.start_s + t) for t in (0.05, 0.95, 1.05, 2.05)]
    assert down == ["1", "1", "2", "3"]
    hold = band.running(rep.turn_s)
    assert hold.phase == "long_hold"
    assert band.count(hold.start_s + 0.01) == "1"
    before, during = band.at(rep.start_s - 0.3), band.at(rep.start_s + 1.2)
    assert before.shape == during.shape == (band.height, 360, 3)
    assert (before != during).any()
    assert READY == "ready"


def test_key_positions_can_be_moved_inside_the_repetition(model) -> None:
    rep = model.repetitions[1]
    moved = key_positions(model, rep, {"turn": rep.turn_s + 0.2})
    assert [k.at_s for k in moved] == pytest.approx([rep.edges[0], rep.turn_s + 0.2, rep.edges[3]])
    with pytest.raises(ModelError, match="must follow each other, none before"):
        key_positions(model, rep, {"start": rep.turn_s + 0.5})
    with pytest.raises(ModelError, match="not 'middle'"):
        key_positions(model, rep, {"middle": rep.turn_s})


def test_no_minus_stands_before_nothing_and_a_real_one_is_no_hyphen(model) -> None:
    name = "left_knee_flexion"
    texts = [dict(angle_texts(model, KeyPosition(name="end", at_s=5.0, angles={name: (v, 4.0)}))) for v in (-0.3, -7.2)]
    assert texts == [{"knee flexion": "0° ± 4°"}, {"knee flexion": "\N{MINUS SIGN}7° ± 4°"}]


def test_what_was_not_measured_has_no_number(model) -> None:
    signals = {n: replace(s, values=np.full(len(s.values), np.nan)) for n, s in model.motion.signals.items()}
    blind = replace(model, motion=replace(model.motion, signals=signals))
    assert [dict(k.angles) for k in key_positions(blind, model.repetitions[1])] == [{}, {}, {}]


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"repetition": "r9"}, "no repetition r9"),
        ({"repetition": 1}, "not whole in the clip"),
        ({"repetition": "r2", "sentences": ["a", "b", "c", "d"]}, "3 cues at most, not 4"),
    ],
)
def test_a_reference_that_cannot_be_made_writes_nothing(model, tmp_path, asked, message: str) -> None:
    cut = replace(model.repetitions[0], edges=(), complete=False, counted=False)
    with pytest.raises(ModelError, match=message):
        write_reference(replace(model, repetitions=(cut, *model.repetitions[1:])), tmp_path / "x", **asked)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_with_other_files_is_refused(model, tmp_path) -> None:
    (tmp_path / "x").mkdir()
    (tmp_path / "x" / "letter.txt").write_text("keep")
    with pytest.raises(OutputError, match="no reference and stays as it is"):
        write_reference(model, tmp_path / "x", repetition="r2")
