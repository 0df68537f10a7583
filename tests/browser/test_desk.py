"""The coach's desk in a real JupyterLab: exact frames, keys, cues, theme, width, without a word to anybody outside."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.desk_page import CONTRAST, desk_notebook, opened, shown
from tests.desk_samples import sample_review

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]


@pytest.fixture(scope="module")
def notebook(lab):
    """A notebook with the desk of a drawn squat."""
    sample_review(lab.root / "squat.mp4")
    return desk_notebook(lab, "squat")


def test_every_step_shows_the_frame_it_says(nb, notebook):
    desk = opened(nb, notebook)
    press = nb.page.keyboard.press
    start = int(desk.get_attribute("data-frame"))
    for step in range(1, 51):
        press("ArrowRight")
        expect(desk).to_have_attribute("data-frame", str(start + step))
        assert shown(desk) == start + step
    for step in range(49, 44, -1):
        press(",")
        expect(desk).to_have_attribute("data-frame", str(start + step))
        assert shown(desk) == start + step

    press("ArrowUp")
    press("w")
    turn = nb.kernel("int(abs(desk.review.data.clip.times_s - desk.review.data.repetitions[0].turn_s).argmin())")
    expect(desk).to_have_attribute("data-frame", str(turn))
    assert shown(desk) == turn
    nb.wait_kernel(f"desk.frame == {turn}")

    press("ArrowDown")
    current = desk.locator(".cb-strip li[aria-current]")
    expect(current).to_have_count(1)
    expect(current.locator("b")).to_have_text("Rep 2")
    expect(desk.locator(".cb-cues h3")).to_have_text("Repetition 2")
    expect(desk.locator(".cb-status")).to_contain_text("repetition 2 of 3")
    expect(desk.locator(".cb-strip canvas[data-drawn]")).to_have_count(9)

    press(" ")
    nb.page.wait_for_timeout(600)
    press(" ")
    nb.page.wait_for_timeout(400)
    stopped = int(desk.get_attribute("data-frame"))
    assert stopped > turn
    assert shown(desk) == stopped
    assert nb.outside == []
    assert nb.errors == []


def test_a_repetition_plays_in_a_loop_and_slowly(nb, notebook):
    desk = opened(nb, notebook)
    press = nb.page.keyboard.press
    rate = "root => root.querySelector('video').playbackRate"
    for key, wanted in (("-", 0.5), ("-", 0.25), ("-", 0.25), ("+", 0.5), ("+", 1.0)):
        press(key)
        press(" ")
        expect(desk.get_by_role("button", name="Play or stop").first).to_have_attribute("aria-pressed", "true")
        assert desk.evaluate(rate) == wanted
        press(" ")

    press("Home")
    expect(desk).to_have_attribute("data-frame", "0")
    press("ArrowDown")
    expect(desk.locator(".cb-cues h3")).to_have_text("Repetition 1")
    first, last = nb.kernel(
        "[int(abs(desk.review.data.clip.times_s - r.start_s).argmin()) for r in desk.review.data.repetitions[:2]]"
    )
    expect(desk).to_have_attribute("data-frame", str(first))
    press("r")
    desk.evaluate(
        """(root) => { root.seen = []; new MutationObserver(() => root.seen.push(Number(root.dataset.frame)))
            .observe(root, { attributes: true, attributeFilter: ['data-frame'] }); }"""
    )
    nb.page.wait_for_function(
        "root => root.seen.some((f, i) => i && f < root.seen[i - 1] - 10)", arg=desk.element_handle(), timeout=60_000
    )
    press(" ")
    frames = desk.evaluate("root => root.seen")
    assert min(frames) >= first - 1
    assert max(frames) <= last + 1


def test_the_kernel_moves_the_picture_and_keys_reach_only_the_desk(nb, notebook):
    desk = opened(nb, notebook)
    cells = nb.page.locator(".jp-Cell").count()
    nb.kernel("setattr(desk, 'frame', 42)")
    expect(desk).to_have_attribute("data-frame", "42")
    assert shown(desk) == 42
    for key in ("d", "d", "b", "y", "Escape", "z", "z"):  # some of these would delete or change cells
        nb.page.keyboard.press(key)
    assert nb.page.locator(".jp-Cell").count() == cells


def test_cues_in_words_with_why_and_source(nb, notebook):
    desk = opened(nb, notebook)
    press = nb.page.keyboard.press
    press("ArrowDown")
    outcomes = desk.locator(".cb-cue .cb-cue-outcome").all_inner_texts()
    words = {"met", "near: too close to call", "not met", "not measurable", "left to the tempo"}
    assert outcomes
    assert set(outcomes) <= words
    press("i")
    why = desk.locator(".cb-why")
    expect(why).to_contain_text("Source")
    expect(why).to_contain_text(re.compile("common practice|published|remembered|own figure"))
    name, said = (why.locator(part).first.bounding_box() for part in ("dt", "dd"))
    assert name["y"] == said["y"], "the notebook's own lists put a reason under its name"
    assert name["x"] + name["width"] <= said["x"]
    first = desk.locator(".cb-cue[aria-current] .cb-cue-name").inner_text()
    press("c")
    assert desk.locator(".cb-cue[aria-current] .cb-cue-name").inner_text() != first
    press("g")
    expect(desk.locator(".cb-cues h3")).to_have_text("Whole set")
    press("h")
    keys = desk.get_by_role("dialog", name="Keys")
    expect(keys).to_be_visible()
    expect(keys.get_by_role("button", name="Go to the turn")).to_be_visible()
    press("Escape")
    expect(keys).to_be_hidden()
    expect(desk).to_be_focused()


def test_names_and_roles(nb, notebook):
    desk = opened(nb, notebook)
    nameless = desk.evaluate(
        """root => [...root.querySelectorAll('button, input, select, [role=slider], section, dialog, [tabindex="0"]')]
            .filter(e => !(e.getAttribute('aria-label') || e.innerText || '').trim())
            .map(e => e.outerHTML.slice(0, 120))"""
    )
    assert nameless == []
    expect(desk).to_have_attribute("role", "application")
    expect(desk.get_by_role("toolbar", name="Play")).to_be_visible()
    slider = desk.get_by_role("slider", name="Time in the clip")
    nb.page.keyboard.press("ArrowDown")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"repetition \d of \d"))
    nb.page.keyboard.press("Tab")
    inside = desk.evaluate("root => root !== document.activeElement && root.contains(document.activeElement)")
    assert inside
    width = nb.page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert float(width.removesuffix("px")) >= 2


@pytest.mark.parametrize("width", [1280, 900])
def test_both_themes_are_readable_and_nothing_sticks_out(nb, notebook, width):
    nb.page.set_viewport_size({"width": width, "height": 1200})
    desk = opened(nb, notebook)
    for theme in ("JupyterLab Light", "JupyterLab Dark"):
        nb.page.evaluate("t => jupyterapp.commands.execute('apputils:change-theme', {theme: t})", theme)
        light = "true" if theme.endswith("Light") else "false"
        nb.page.wait_for_function("v => document.body.dataset.jpThemeLight === v", arg=light)
        assert desk.evaluate("root => root.scrollWidth <= root.clientWidth + 1")
        assert desk.evaluate(CONTRAST) >= 4.5
