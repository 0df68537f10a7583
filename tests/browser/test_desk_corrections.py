"""Corrections, outcomes by eye, notes and marks on the desk: by keyboard, at once, and all there after a restart."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import expect

from tests.browser.desk_page import desk_notebook, opened, ready, shown
from tests.desk_samples import sample_review

CUT_OFF = """root => [root, ...root.querySelectorAll('.cb-top, .cb-cues, .cb-cue span, .cb-line span')]
    .filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
    .map(e => `${e.className}: ${e.innerText.slice(0, 40)} ${e.scrollWidth} > ${e.clientWidth}`)"""
"""What is wider than its place on the desk."""
pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]


@pytest.fixture
def notebook(lab, request):
    """A notebook with the desk of a drawn squat that no other test corrects."""
    name = request.node.name.removeprefix("test_")[:24]
    sample_review(lab.root / f"{name}.mp4")
    return desk_notebook(lab, name)


def saved(desk) -> None:
    """Wait until the desk says that everything is on disk."""
    expect(desk).to_have_attribute("data-saved", "saved")


def test_what_was_done_is_there_after_a_restart(nb, notebook):
    desk = opened(nb, notebook)
    press, write = nb.page.keyboard.press, nb.page.keyboard.type
    before = nb.kernel("[r.start_s for r in desk.review.data.repetitions]")

    press("ArrowDown")
    press("ArrowDown")
    for _ in range(9):
        press("ArrowRight")
    press("Shift+Q")  # the second repetition starts nine frames later
    saved(desk)
    after = nb.kernel("[r.start_s for r in desk.review.data.repetitions]")
    assert after[1] == pytest.approx(before[1] + 0.3, abs=0.04)
    assert (after[0], after[2]) == (before[0], before[2])
    said = desk.locator(".cb-said")
    expect(said).to_contain_text("U takes it back")
    expect(desk.locator(".cb-strip li[aria-current]")).to_contain_text("start corrected")
    phases = nb.kernel("desk.review.data.repetitions[1].phases['eccentric']")
    times = desk.locator(".cb-strip li[aria-current] .cb-rep-times").inner_text()
    assert f"{phases:.1f}" in times

    measured = desk.locator(".cb-cue[aria-current] .cb-cue-outcome").inner_text()
    press("3")
    saved(desk)
    expect(desk.locator(".cb-cue[aria-current] .cb-cue-outcome")).to_have_text("not met, by Orla Vennick")
    expect(desk.locator(".cb-cue[aria-current] .cb-cue-value")).to_contain_text(f"measured: {measured}")
    press("g")
    expect(desk.locator(".cb-cues h3")).to_have_text("Whole set")
    expect(desk.locator(".cb-cue[aria-current] .cb-cue-eye")).to_have_text("rep 2 by eye: not met")
    press("g")

    press("w")
    press("n")
    write("de")
    press("Tab")  # two letters and Tab bring the sentence of the cue
    write(" Well done.")
    press("Enter")
    saved(desk)
    expect(desk).to_be_focused()
    note = desk.locator(".cb-note-list li")
    expect(note).to_contain_text("Well done.")
    expect(note).to_contain_text("rep 2, depth")

    press("n")
    write("half a tho")
    nb.wait_kernel("(desk.corrections.kept.get('half_note') or {}).get('text') == 'half a tho'")
    place = desk.get_attribute("data-frame")

    nb.restart_kernel()
    nb.run_all()
    desk = ready(nb)
    expect(desk.locator(".cb-note-list li")).to_contain_text("Well done.")
    expect(desk.get_by_role("textbox", name="Note")).to_have_value("half a tho")
    press("Escape")
    assert desk.get_attribute("data-frame") == place
    assert nb.kernel("[r.start_s for r in desk.review.data.repetitions]") == after
    expect(desk.locator(".cb-cue[aria-current] .cb-cue-outcome")).to_have_text("not met, by Orla Vennick")
    for _ in range(3):
        press("u")
        saved(desk)
    assert nb.kernel("[r.start_s for r in desk.review.data.repetitions]") == before
    expect(desk.locator(".cb-note-list li")).to_have_count(0)
    press("Shift+U")
    saved(desk)
    assert nb.kernel("desk.review.data.repetitions[1].start_s") == after[1]
    assert nb.errors == []
    assert nb.outside == []


def test_repetitions_are_split_joined_dropped_added_and_dragged(nb, notebook):
    desk = opened(nb, notebook)
    press = nb.page.keyboard.press
    cards = desk.locator(".cb-strip li")
    expect(desk.locator(".cb-status")).to_contain_text("before repetition 1")
    press("ArrowDown")
    expect(desk.locator(".cb-status")).to_contain_text("repetition 1 of 3")
    press("w")
    press("x")
    expect(cards).to_have_count(4)
    press("u")
    expect(cards).to_have_count(3)
    expect(desk.locator(".cb-said")).to_have_text("Taken back: split repetition 1.")
    press("m")
    expect(cards).to_have_count(2)
    press("u")
    expect(cards).to_have_count(3)
    press("Delete")
    expect(cards).to_have_count(2)
    expect(desk.locator(".cb-said")).to_contain_text("dropped. U takes it back")
    press("Home")
    nb.page.wait_for_timeout(200)
    span = nb.kernel("[[r.start_s, r.end_s] for r in desk.corrections.proposed.repetitions][0]")
    nb.kernel(f"setattr(desk, 'frame', {round(span[0] * 30)})")
    expect(desk).to_have_attribute("data-frame", str(round(span[0] * 30)))
    press("a")
    nb.kernel(f"setattr(desk, 'frame', {round(span[1] * 30)})")
    expect(desk).to_have_attribute("data-frame", str(round(span[1] * 30)))
    press("a")
    expect(cards).to_have_count(3)
    expect(cards.first).to_contain_text("added by hand")

    # drag the end of the second repetition half a second to the left, on the trace
    saved(desk)
    turn = nb.kernel("desk.review.data.repetitions[1].turn_s")
    nb.kernel(f"setattr(desk, 'frame', {round(turn * 30)})")
    end, length = nb.kernel("[desk.review.data.repetitions[1].end_s, desk.review.data.clip.duration_s]")
    expect(desk.locator(".cb-status")).to_contain_text("repetition 2")
    box = desk.locator(".cb-trace").bounding_box()
    wide = box["width"] - 56
    x = box["x"] + 46 + end / length * wide
    nb.page.mouse.move(x, box["y"] + 28)
    nb.page.mouse.down()
    nb.page.mouse.move(x - 0.25 / length * wide, box["y"] + 30)
    nb.page.mouse.move(x - 0.5 / length * wide, box["y"] + 30)
    nb.page.mouse.up()
    nb.wait_kernel(f"abs(desk.review.data.repetitions[1].end_s - {end - 0.5}) < 0.06")
    saved(desk)
    assert nb.errors == []


def test_a_refused_change_is_said_and_changes_nothing(nb, notebook):
    desk = opened(nb, notebook)
    press = nb.page.keyboard.press
    press("ArrowDown")
    press("e")
    before = nb.kernel("[[r.start_s, r.turn_s, r.end_s] for r in desk.review.data.repetitions]")
    for _ in range(4):
        press("Shift+ArrowRight")
    press("ArrowUp")
    press("q")
    press("Shift+W")  # a turn at the very start cannot be
    saved(desk)
    assert len(desk.locator(".cb-said").inner_text()) > 10
    kept = nb.kernel("[[r.start_s, r.turn_s, r.end_s] for r in desk.review.data.repetitions]")
    shown_turn = desk.locator(".cb-strip li").first.locator("[data-event=turn] span").inner_text()
    assert shown_turn == f"turn {kept[0][1]:.1f}"
    assert kept == before


def test_marks_belong_to_joints_and_are_saved_as_a_picture(nb, notebook, lab):
    desk = opened(nb, notebook)
    press, write = nb.page.keyboard.press, nb.page.keyboard.type
    press("ArrowDown")
    press("w")
    press("p")
    marking = desk.get_by_role("region", name="Marks on a still")
    expect(marking).to_be_visible()
    press("3")
    for letter in ("g", "i", "k"):  # left hip, knee, ankle
        press(letter)
    expect(marking.locator("[data-mark]")).to_contain_text("left hip, left knee, left ankle")
    expect(marking.locator("[data-mark]")).to_contain_text("°")
    press("2")
    press("k")
    expect(marking.locator("[data-mark]")).to_have_count(2)
    press("6")
    expect(marking.get_by_text("pick a joint, then type the words")).to_be_visible()
    expect(marking.get_by_role("textbox")).to_have_count(0)  # letters pick joints as long as there is no box
    press("a")
    expect(marking.get_by_role("textbox", name="Words to write")).to_be_focused()
    write("chest")
    press("Enter")
    expect(marking.locator("[data-mark]")).to_have_count(3)
    saved(desk)
    marks = nb.kernel("[[m.kind, list(m.joints)] for m in desk.corrections.state.marks]")
    assert sorted(m[0] for m in marks) == ["angle", "plumb", "text"]
    press("Enter")
    expect(desk.locator(".cb-said")).to_contain_text("Saved as")
    name = notebook.removesuffix(".ipynb")
    (picture,) = (lab.root / f"{name}.stills").iterdir()
    assert picture.read_bytes()[:2] == b"\xff\xd8"
    amber = nb.kernel(
        f"(lambda a: int(((a[..., 0] > 220) & (a[..., 1] > 170) & (a[..., 2] < 130)).sum()))"
        f"(__import__('numpy').asarray(__import__('PIL.Image').Image.open({str(picture)!r})))"
    )
    assert amber > 300
    press("Escape")
    expect(marking).to_be_hidden()
    press("ArrowRight")
    press("ArrowLeft")
    saved(desk)
    assert nb.errors == []


def test_another_clip_stands_beside_aligned_at_the_turn(nb, lab):
    (lab.root / "cuebook.toml").touch()
    name = lab.notebook(
        "beside.ipynb",
        "import cuebook\nfrom tests.desk_samples import sample_review",
        "then = sample_review('then.mp4', tempo='2-1-1-0', reps=2)\n"
        "desk = cuebook.desk(sample_review('now.mp4'), beside=then)\ndesk",
    )
    desk = opened(nb, name)
    press = nb.page.keyboard.press
    press("ArrowDown")
    press("w")
    press("v")
    beside = desk.locator(".cb-beside[data-ready='1']")
    beside.wait_for()
    turn = nb.kernel("desk.facts['beside']['repetitions'][0]['turn_s']")
    expect(beside).to_have_attribute("data-frame", str(round(turn * 30)))
    assert shown(beside) == round(turn * 30)
    for _ in range(6):
        press("ArrowRight")
    expect(beside).to_have_attribute("data-frame", str(round(turn * 30) + 6))
    expect(beside).to_contain_text("aligned at the turn")
    press("Shift+V")
    expect(beside.get_by_text("mirrored to compare")).to_be_visible()
    expect(beside.locator(".cb-beside-name")).to_contain_text("mirrored")
    press("Shift+V")
    expect(beside.get_by_text("mirrored to compare")).to_be_hidden()
    nb.page.set_viewport_size({"width": 1280, "height": 900})
    nb.page.evaluate("jupyterapp.commands.execute('filebrowser:activate')")
    expect(nb.page.locator(".jp-FileBrowser")).to_be_visible()
    nb.page.wait_for_timeout(300)
    assert desk.evaluate(CUT_OFF) == []
    assert nb.errors == []


def test_where_widgets_are_not_shown_there_is_a_still_and_a_table(nb, notebook):
    nb.open(notebook).run_all()
    ready(nb)
    bundle = nb.page.evaluate(
        """() => jupyterapp.shell.currentWidget.content.model.sharedModel.cells[1].outputs
            .map(o => Object.keys(o.data || {}))[0]"""
    )
    assert {"application/vnd.jupyter.widget-view+json", "text/html", "text/plain"} <= set(bundle)
    html = nb.page.evaluate(
        """() => [].concat(jupyterapp.shell.currentWidget.content.model.sharedModel.cells[1]
            .outputs[0].data['text/html']).join('')"""
    )
    assert "<table" in html
    assert "data:image/jpeg;base64," in html
    assert json.dumps(html).count("http") == 0
