"""The desk of movements with sides: each side by itself, the working leg's line, and keys that stay with the desk."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.desk_page import opened

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

CELLS = (
    "import cuebook\nfrom tests.desk_samples import sample_review",
    "desk = cuebook.desk(sample_review('{name}.mp4', {more}), author='Orla Vennick')\ndesk",
)


def notebook(lab, name: str, more: str) -> str:
    """Write a notebook with the desk of a drawn clip of some movement, in a workspace."""
    (lab.root / "cuebook.toml").touch()
    return lab.notebook(f"{name}.ipynb", *(c.format(name=name, more=more) for c in CELLS))


def test_a_repetition_is_entered_at_its_start_wherever_the_boundary_lies_between_frames(nb, lab):
    desk = opened(nb, notebook(lab, "starts", "reps=4, tempo='2-1-1-1'"))
    press, status = nb.page.keyboard.press, desk.locator(".cb-status")
    for number in (1, 2, 3, 4):
        press("ArrowDown")
        press("w")
        press("q")
        expect(status).to_contain_text(f"repetition {number} of 4")
        for _ in range(number):
            press("ArrowRight")
        press("Shift+Q")  # at any frame: a third of them lie just before the millisecond that is kept
        expect(desk).to_have_attribute("data-saved", "saved")
        expect(status).to_contain_text(f"repetition {number} of 4")
        expect(desk.locator(".cb-cues h3")).to_have_text(f"Repetition {number}")
        press("e")
        expect(status).to_contain_text(f"repetition {number} of 4")
    assert nb.errors == []


def test_each_side_of_a_whole_set_has_a_row_and_is_judged_by_itself(nb, lab):
    more = "movement='standing-trunk-rotation', side='alternating', azimuth_deg=40.0, reps=4, tempo=None"
    desk = opened(nb, notebook(lab, "turns", more))
    press = nb.page.keyboard.press
    press("g")
    names = desk.locator(".cb-cue-name")
    expect(names.filter(has_text="Rotation, left")).to_have_count(1)
    expect(names.filter(has_text="Rotation, right")).to_have_count(1)
    desk.locator(".cb-cue").filter(has_text="Rotation, right").click()
    press("3")
    expect(desk).to_have_attribute("data-saved", "saved")
    expect(desk.locator(".cb-said")).to_contain_text("Rotation, right, whole set: not met by eye")
    said = nb.kernel("[[o.cue, o.side, o.repetition, o.outcome] for o in desk.corrections.state.overruled]")
    assert said == [["rotation", "right", None, "not_met"]]
    press("c")
    press("Shift+C")
    press("Shift+C")
    expect(desk.locator(".cb-cue[aria-current] .cb-cue-name")).to_have_text("Rotation, left")
    assert nb.errors == []


def test_the_line_keeps_to_the_leg_it_is_named_after(nb, lab):
    more = "movement='split-squat', side='right', azimuth_deg=-80.0"
    desk = opened(nb, notebook(lab, "leg", more))
    press = nb.page.keyboard.press
    expect(desk.locator(".cb-trace-name")).to_have_text("right knee flexion over time")
    for key in ("Home", "End"):
        press(key)
        expect(desk.locator(".cb-status")).to_contain_text("right knee flexion")
    assert nb.errors == []


def test_keys_stay_with_the_desk_after_a_click(nb, lab):
    desk = opened(nb, notebook(lab, "clicks", "reps=2"))
    press = nb.page.keyboard.press
    press("ArrowDown")
    desk.get_by_role("button", name="By eye: not met").click()
    expect(desk).to_have_attribute("data-saved", "saved")
    expect(desk).to_be_focused()
    press("u")
    nb.wait_kernel("len(desk.corrections.state.overruled) == 0")
    press("p")
    desk.get_by_role("region", name="Marks on a still").get_by_role("button", name="plumb line").click()
    expect(desk).to_be_focused()
    press("k")
    nb.wait_kernel("len(desk.corrections.state.marks) == 1")
    assert nb.errors == []
