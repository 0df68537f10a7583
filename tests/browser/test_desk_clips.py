"""Several clips on one desk, a first review that takes its time, and marks at a free place, in a real JupyterLab."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.desk_page import desk_notebook, opened, ready
from tests.desk_samples import sample_review

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

ROW = (
    "import cuebook\nfrom tests.desk_samples import sample_review\n"
    "reviews = [sample_review(f'{n}.mp4', reps=1) for n in ('monday', 'friday')]",
    "desks = cuebook.desk(reviews, author='Orla Vennick')\ndesks",
)
SLOW = (
    "import time\nimport cuebook\nimport cuebook.api\nfrom tests.desk_samples import sample_review\n"
    "found = sample_review('slow.mp4', reps=1)\n"
    "def slowly(clip, *, progress, **asked):\n"
    "    for k in range(1, 41):\n"
    "        time.sleep(0.25)\n"
    "        progress(k / 40)\n"
    "    return cuebook.Review(found)\n"
    "cuebook.api.review = slowly",
    "desk = cuebook.desk('slow.mp4', movement='squat', author='Orla Vennick')\ndesk",
)


def test_page_down_turns_to_the_next_clip_with_everything_on_disk(nb, lab):
    (lab.root / "cuebook.toml").touch()
    desk = opened(nb, lab.notebook("row.ipynb", *ROW))
    press = nb.page.keyboard.press
    expect(desk.get_by_text("Clip 1 of 2")).to_be_visible()
    expect(desk.get_by_role("button", name="Previous clip")).to_be_disabled()
    place = str(int(desk.get_attribute("data-frame")) + 5)
    for _ in range(5):
        press("ArrowRight")
    expect(desk).to_have_attribute("data-frame", place)
    press("n")
    nb.page.keyboard.type("of the first")
    press("Enter")
    press("PageDown")  # at once: the note may still be on its way
    second = nb.page.get_by_role("application", name="Desk for friday.mp4")
    expect(second).to_have_attribute("data-ready", "1", timeout=60_000)
    expect(second).to_be_focused()
    assert nb.kernel("[n.text for n in desks._opened[0].corrections.state.notes]") == ["of the first"]
    expect(second.locator(".cb-note-list li")).to_have_count(0)
    press("PageDown")
    expect(second.locator(".cb-said")).to_contain_text("last clip")
    press("n")
    nb.page.keyboard.type("of the second")
    press("Enter")
    second.get_by_role("button", name="Previous clip: monday.mp4").click()
    first = nb.page.get_by_role("application", name="Desk for monday.mp4")
    expect(first).to_have_attribute("data-ready", "1", timeout=60_000)
    expect(first).to_have_attribute("data-frame", place)
    expect(first.locator(".cb-note-list li")).to_contain_text("of the first")

    nb.restart_kernel()
    nb.run_all()
    again = ready(nb)
    expect(again).to_have_attribute("aria-label", "Desk for monday.mp4. H shows the list of keys.")
    expect(again).to_have_attribute("data-frame", place)
    assert nb.kernel("[n.text for n in desks.go_to(1).corrections.state.notes]") == ["of the second"]
    assert nb.errors == []


def test_a_first_review_says_how_far_it_is_and_gives_its_place_to_the_desk(nb, lab):
    (lab.root / "cuebook.toml").touch()
    sample_review(lab.root / "slow.mp4", reps=1)
    nb.open(lab.notebook("slow.ipynb", *SLOW))
    nb.page.evaluate("void jupyterapp.commands.execute('notebook:run-all-cells')")
    words = nb.page.get_by_role("status").filter(has_text="Reading slow.mp4: ")
    expect(words).to_contain_text("%", timeout=60_000)
    expect(words).to_contain_text("s left", timeout=10_000)
    ready(nb)
    expect(words).to_have_count(0)
    assert nb.errors == []


def test_a_mark_can_point_to_a_free_place_that_hangs_on_a_joint(nb, lab):
    sample_review(lab.root / "free.mp4")
    desk = opened(nb, desk_notebook(lab, "free"))
    press = nb.page.keyboard.press
    press("ArrowDown")
    press("w")
    turn = nb.kernel("int(abs(desk.review.data.clip.times_s - desk.review.data.repetitions[0].turn_s).argmin())")
    expect(desk).to_have_attribute("data-frame", str(turn))
    press("p")
    marking = desk.get_by_role("region", name="Marks on a still")
    press("1")
    press("x")
    expect(desk.locator(".cb-said")).to_contain_text("4, 5 or 6 first")
    press("4")
    press("i")
    press("x")
    press("ArrowRight")
    press("Shift+ArrowUp")
    press("Enter")
    expect(marking.locator("[data-mark]")).to_have_text("arrow: left knee, free placeTake out")
    press("5")
    press("x")
    press("i")
    for name in ("right", "down"):
        marking.get_by_role("button", name=name, exact=True).click()
    marking.get_by_role("button", name="set it here").click()
    expect(marking.locator("[data-mark]")).to_have_count(2)
    desk.focus()
    press("6")
    box = desk.locator(".cb-stage").bounding_box()
    nb.page.mouse.click(box["x"] + 0.9 * box["width"], box["y"] + 0.1 * box["height"])
    expect(marking.get_by_role("textbox", name="Words to write")).to_be_focused()
    nb.page.keyboard.type("tall")
    press("Enter")
    expect(marking.locator("[data-mark]")).to_have_count(3)
    expect(desk).to_have_attribute("data-saved", "saved")
    marks = nb.kernel("[[m.kind, list(m.joints), m.to] for m in desk.corrections.state.marks]")
    found = {kind: (joints, to) for kind, joints, to in marks}
    assert found["arrow"] == (["left_knee"], [0.65, -0.6])
    assert found["circle"] == (["left_knee"], [0.5, 0.2])
    assert found["text"][1][1] < -0.3, "above the joint it hangs on"
    assert desk.get_attribute("data-frame") == str(turn), "the arrow keys moved the cross, not the clip"
    assert nb.errors == []
