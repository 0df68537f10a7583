"""The forms for feedback and for a reference clip: kept at once, refused in words, written only on request."""

from __future__ import annotations

import json

import av
import pytest

import cuebook
from cuebook.record import open_desk
from cuebook.widgets.feedback_form import FeedbackForm
from cuebook.widgets.reference_form import ReferenceForm
from tests.desk_samples import sample_review


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    return sample_review(tmp_path_factory.mktemp("clip") / "drawn.mp4", reps=2, rate_hz=15.0, width=120, height=212)


@pytest.fixture(autouse=True)
def no_loop(monkeypatch):
    """Outside a notebook nothing waits for the typing to rest; a browser in the same process would leave a loop."""

    def none():
        raise RuntimeError("no running event loop")

    monkeypatch.setattr("asyncio.get_running_loop", none)


@pytest.fixture
def corrections(data, tmp_path):
    with open_desk(data, author="Orla Vennick", record=tmp_path / "record.sqlite") as opened:
        yield opened


def test_a_changed_text_is_kept_counted_and_seen_on_the_phone(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback", athlete="Tamsin Broad")
    assert form.draft.words <= 60
    form.texts["praise"].value = "Heels down all the way, well done."
    assert corrections.draft.praise == "Heels down all the way, well done."
    assert f"{form.draft.words} of 60 words" in form.count.value
    assert "Heels down all the way" in form.page.value
    assert "Tamsin Broad" in form.page.value
    assert 'width="390"' in form.page.value
    again = FeedbackForm(corrections, folder=tmp_path / "feedback")
    assert again.texts["praise"].value == "Heels down all the way, well done."
    assert not (tmp_path / "feedback").exists(), "nothing is written unasked"


def test_more_than_sixty_words_are_refused_in_words_and_the_last_good_draft_stays(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")
    form.texts["fix"].value = "Sit deeper."
    kept = corrections.draft
    form.texts["fix"].value = "deeper " * 70
    assert "take out" in form.count.value
    assert corrections.draft == kept
    form.write.click()
    assert "60 are the most" in form.said.value
    assert not (tmp_path / "feedback").exists()


def test_drafting_anew_keeps_a_way_back_to_the_coachs_own_words(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")
    form.anew.click()
    assert form.back.layout.display == "none", "nothing of the coach's was lost yet"
    form.texts["praise"].value = "Heels down all the way, well done."
    form.anew.click()
    assert form.texts["praise"].value == corrections.draft_feedback().praise
    assert form.back.layout.display == ""
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")  # after a restart
    assert form.back.layout.display == ""
    form.back.click()
    assert form.texts["praise"].value == corrections.draft.praise == "Heels down all the way, well done."
    assert form.back.layout.display == "none"


def test_what_was_said_of_other_words_goes_when_the_words_change(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")
    form.texts["fix"].value = "deeper " * 70
    form.write.click()
    assert "60 are the most" in form.said.value
    form.texts["fix"].value = "Sit deeper."
    assert form.said.value == ""


def test_files_are_written_on_request_and_nothing_is_sent(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")
    form.texts["next"].value = "Send one more clip on Friday."
    form.write.click()
    assert "Nothing was sent" in form.said.value
    assert {"feedback.html", "message.txt"} <= {p.name for p in (tmp_path / "feedback").iterdir()}
    assert "Send one more clip on Friday." in (tmp_path / "feedback" / "message.txt").read_text(encoding="utf-8")


def test_a_markup_in_a_text_stays_text(corrections, tmp_path) -> None:
    form = FeedbackForm(corrections, folder=tmp_path / "feedback")
    form.texts["fix"].value = "<script>alert(1)</script>"
    assert "<script>alert" not in form.page.value
    assert "&amp;lt;script" in form.page.value


def test_a_reference_takes_its_positions_from_the_desk_and_is_written(corrections, data, tmp_path) -> None:
    second = data.repetitions[1]
    shown = {"at": second.turn_s + 0.1}
    form = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: shown["at"])
    form.model.value = "r2"
    assert form.at["turn"].value == pytest.approx(second.turn_s, abs=0.01)
    form.here["turn"].click()
    assert form.at["turn"].value == pytest.approx(second.turn_s + 0.1, abs=0.01)
    assert "°" in form.angles.value
    form.sentences.value = "Sit between your heels.\nChest to the wall."
    form.credit.value = "A drawn figure, no person."
    form.write.click()
    assert str(tmp_path / "reference") in form.said.value
    facts = json.loads((tmp_path / "reference" / "reference.json").read_text(encoding="utf-8"))
    assert facts["sentences"] == ["Sit between your heels.", "Chest to the wall."]
    assert len(list((tmp_path / "reference").glob("*.jpg"))) == 3
    with av.open(str(tmp_path / "reference" / "reference.mp4")) as video:
        assert video.streams.video[0].codec_context.name == "h264"


def test_the_reference_form_follows_the_desk_and_is_there_again_after_a_restart(corrections, tmp_path) -> None:
    form = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    form.model.value = "r2"
    form.sentences.value, form.consent.value = "Sit between your heels.", "On this page only."
    moved = form.at["turn"].value = form.at["turn"].value + 0.1
    corrections.drop("r1")
    form.refresh()
    assert [name for name, _ in form.model.options] == [form.model.label]
    assert form.model.label.startswith("repetition 1, turn at")
    assert form.model.value == "r2"
    again = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    assert (again.model.value, again.sentences.value) == ("r2", "Sit between your heels.")
    assert again.consent.value == "On this page only."
    assert again.at["turn"].value == form.at["turn"].value
    assert moved == pytest.approx(form.at["turn"].value, abs=0.2)


def test_a_repetition_that_misses_a_cue_is_not_made_a_model_without_a_word(corrections, tmp_path) -> None:
    form = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    assert "Depth is not met" not in form.angles.value
    corrections.overrule("depth", "not_met", repetition="r1", reason="heels up")
    again = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    assert "Depth is not met in this repetition: is it the one to show?" in again.angles.value


def test_a_position_outside_the_repetition_is_a_sentence(corrections, data, tmp_path) -> None:
    form = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    form.model.value = "r2"
    form.here["turn"].click()
    assert "must follow each other" in form.said.value
    form.write.click()
    assert not (tmp_path / "reference").exists()


def test_four_sentences_are_too_many(corrections, tmp_path) -> None:
    form = ReferenceForm(corrections, folder=tmp_path / "reference", now_s=lambda: 0.0)
    form.sentences.value = "a\nb\nc\nd"
    form.write.click()
    assert "3 cues at most" in form.said.value


def test_both_forms_are_opened_from_the_desk_and_know_what_it_shows(data, tmp_path) -> None:
    desk = cuebook.desk(data, author="Orla Vennick", record=tmp_path / "record.sqlite", cache_dir=tmp_path / "cache")
    desk.frame = 20
    reference = desk.reference(tmp_path / "reference")
    reference.here["start"].click()
    assert reference.at["start"].value == pytest.approx(data.clip.times_s[20], abs=0.006)
    form = desk.feedback(athlete="Tamsin Broad")
    form.texts["praise"].value = "Steady."
    assert desk.corrections.draft.praise == "Steady."
