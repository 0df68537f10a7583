"""The athlete's tempo page in a real browser: sound on its beats, hand timing, no request leaves the machine."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from cuebook.guide.page import tempo_page
from cuebook.guide.plan import set_plan
from cuebook.movements import load_movement, parse_tempo
from cuebook.whole import write_whole
from tests.browser.camera import with_camera

pytestmark = pytest.mark.browser
CLIP = Path(__file__).parents[2] / "clips_demo" / "squat.mp4"
RATE_HZ = 48_000
TAPS_S = (0.5, 3.4, 4.6, 5.8, 6.5, 9.1, 10.0, 11.3, 11.9, 12.9)


@pytest.fixture
def plan() -> dict:
    return set_plan(load_movement("squat"), parse_tempo("3-1-1-1"), 3)


@pytest.fixture
def opened(browser, plan, tmp_path):
    """The page, with everything that the browser asked for or complained about."""
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.asked, page.problems = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("console", lambda message: page.problems.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda problem: page.problems.append(str(problem)))
    page.goto(write_whole(tmp_path / "tempo.html", tempo_page(plan)).as_uri())
    yield page
    assert page.problems == []
    assert all(url.startswith(("file:", "blob:", "data:")) for url in page.asked), page.asked
    page.close()


def test_beeps_are_within_five_milliseconds_of_their_schedule(opened, plan) -> None:
    opened.get_by_label("voice").uncheck()
    samples = opened.evaluate(f"document.getElementById('guide').renderSet({RATE_HZ}).then((s) => Array.from(s))")
    loud = np.abs(np.array(samples)) > 0.01
    onsets = np.flatnonzero(loud & ~np.concatenate(([False], loud[:-1]))) / RATE_HZ
    onsets = onsets[np.concatenate(([True], np.diff(onsets) > 0.3))]
    scheduled = np.array([b["time_s"] for b in plan["beats"] if b["pitch"]])
    assert len(onsets) == len(scheduled)
    assert np.abs(onsets - scheduled).max() < 0.005


def test_the_guide_runs_shows_its_words_and_stops(opened) -> None:
    guide = opened.get_by_role("region", name="Before: hear and see the tempo")
    opened.get_by_role("button", name="Start the set").click()
    opened.wait_for_function("document.getElementById('guide').dataset.word === 'three'")
    assert guide.locator(".guide-word").inner_text() == "3"
    opened.wait_for_function("document.getElementById('guide').dataset.word === 'down'", timeout=15_000)
    assert guide.get_by_role("status").inner_text() == "Rep 1 of 3"
    opened.get_by_role("button", name="Stop", exact=True).click()
    assert opened.locator("#guide").get_attribute("data-state") == "ready"


def test_a_set_is_timed_by_hand_with_the_keyboard_alone(opened, plan) -> None:
    timing = opened.locator("#timing")
    opened.locator("[data-part=file]").set_input_files(CLIP)
    opened.wait_for_function("document.querySelector('[data-part=clip]').readyState >= 2")
    for at in TAPS_S:
        opened.evaluate(
            f"""new Promise((done) => {{ const v = document.querySelector('[data-part=clip]');
            v.addEventListener('seeked', done, {{ once: true }}); v.currentTime = {at}; }})"""
        )
        timing.press("t")
    opened.evaluate("document.querySelector('[data-part=clip]').currentTime = 0.2")
    timing.press("t")
    assert "before the last tap" in opened.locator("[data-part=hint]").inner_text()
    timing.press("Backspace")
    assert timing.get_attribute("data-taps") == str(len(TAPS_S) - 1)
    opened.get_by_role("button", name="Finish").press("Enter")
    assert opened.locator("[data-part=hint]").inner_text().startswith("Finished after 9 taps.")
    result = opened.get_by_role("region", name="Result, timed by hand")
    text = result.inner_text()
    assert "Timed by hand" in text
    assert "2.9 ± 0.2 s: met" in text
    assert "asked 3 s (2.25 to 3.75)" in result.locator("thead").inner_text()
    rows = result.locator("tbody tr")
    assert rows.count() == 2
    assert "0.7 ± 0.2 s" in rows.nth(0).inner_text()
    assert "Lowering" in rows.nth(0).inner_text() or "Lowering" in result.locator("thead").inner_text()


def test_the_page_judges_as_the_package_does(opened) -> None:
    """Normal distribution: scipy as the reference."""
    z = np.linspace(-4, 4, 33)
    found = opened.evaluate("(z) => z.map(shareBelow)", z.tolist())
    assert found == pytest.approx(norm.cdf(z), abs=1e-6)


def test_too_short_a_lowering_is_said_in_a_sentence_that_tells_what_to_do(opened) -> None:
    sentence = opened.evaluate(
        """(times) => { const plan = JSON.parse(document.getElementById('plan').textContent);
        const set = timedSet(times, plan); return sentenceOf(set, plan); }""",
        [0, 1.2, 2.2, 3.2, 4.2, 5.4, 6.4, 7.4, 8.4],
    )
    assert sentence == "Lowering took 1.2 s, asked 3 s: count to 3 on the way."


def test_times_too_close_to_call_are_counted_and_not_summed_up_as_asked(opened, plan) -> None:
    lengths = {phase: plan["slots"][phase]["seconds"] for phase in plan["order"]}
    sums = []
    for first in (lengths["eccentric"], plan["slots"]["eccentric"]["band"]["low"]):
        times, at = [0.0], 0.0
        for repetition in range(2):
            for phase in plan["order"]:
                at += first if (phase == "eccentric" and repetition == 0) else lengths[phase]
                times.append(at)
        sums.append(
            opened.evaluate(
                """(times) => { const plan = JSON.parse(document.getElementById('plan').textContent);
                return sentenceOf(timedSet(times, plan), plan); }""",
                times,
            )
        )
    assert sums[0].startswith("The tempo was as asked")
    assert sums[1].startswith("No time was missed, but 1 of 8 is too close to call by hand.")


def test_taps_on_the_screen_of_a_phone_are_timed_by_hand_too(browser, plan, tmp_path) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 780}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(write_whole(tmp_path / "tempo.html", tempo_page(plan)).as_uri())
    page.locator("[data-part=file]").set_input_files(CLIP)
    page.wait_for_function("document.querySelector('[data-part=clip]').readyState >= 2")
    for at in TAPS_S[:5]:
        page.evaluate(
            f"""new Promise((done) => {{ const v = document.querySelector('[data-part=clip]');
            v.addEventListener('seeked', done, {{ once: true }}); v.currentTime = {at}; }})"""
        )
        page.get_by_role("button", name="Tap").tap()
    assert page.locator("#timing").get_attribute("data-taps") == "5"
    page.get_by_role("button", name="Finish").tap()
    result = page.get_by_role("region", name="Result, timed by hand")
    assert "Timed by hand" in result.inner_text()
    assert "2.9 ± 0.2 s: met" in result.inner_text()
    context.close()


@pytest.mark.parametrize(("width", "scheme"), [(320, "light"), (390, "dark"), (1280, "dark")])
def test_the_page_fits_a_phone_and_can_be_read_in_the_dark(browser, plan, tmp_path, width: int, scheme: str) -> None:
    """Contrast of running text at least 4.5 to 1 (WCAG 2.1, success criterion 1.4.3)."""
    page = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.goto(write_whole(tmp_path / "tempo.html", tempo_page(plan, athlete="Tamsin Broad")).as_uri())
    page.evaluate("""drawBars(document.querySelector('[data-part=bars]'), [{eccentric: {seconds: 2.9, u: 0.2}}],
        JSON.parse(document.getElementById('plan').textContent), 'Timed by hand');
        document.querySelector('[data-part=result]').hidden = false""")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    ratios = page.evaluate(
        """() => { const light = (colour) => { const [r, g, b] = colour.match(/[0-9.]+/g).slice(0, 3)
            .map((v) => v / 255).map((v) => (v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
            return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
        const behind = (node) => { for (let n = node; n; n = n.parentElement) {
            const c = getComputedStyle(n).backgroundColor; if (!/, 0\\)$|transparent/.test(c)) return c; }
            return 'rgb(255,255,255)'; };
        return [...document.querySelectorAll('main :is(p, h1, h2, td, th, label, button:enabled, b)')]
            .filter((n) => n.checkVisibility() && n.textContent.trim())
            .map((n) => { const a = light(getComputedStyle(n).color), b = light(behind(n));
                return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), n.textContent.trim().slice(0, 40)]; }); }"""
    )
    assert len(ratios) > 15
    assert min(ratios)[0] >= 4.5, min(ratios)
    page.close()


def test_a_set_is_filmed_on_the_page_where_the_browser_has_a_camera(browser, plan, tmp_path) -> None:
    own = with_camera(browser)
    page = own.new_page(viewport={"width": 390, "height": 844})
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(write_whole(tmp_path / "tempo.html", tempo_page(plan)).as_uri())
    camera = page.get_by_role("region", name="Film here")
    camera.get_by_role("button", name="Film with this device").click()
    camera.get_by_text("Recording, without sound.").wait_for()
    page.wait_for_timeout(1500)
    camera.get_by_role("button", name="Stop filming").click()
    camera.get_by_text("It stays in this browser until the page is closed.").wait_for()
    page.wait_for_function("Number.isFinite(document.querySelector('[data-part=clip]').duration)")
    assert 0.8 < page.evaluate("document.querySelector('[data-part=clip]').duration") < 6
    assert page.get_by_role("button", name="Tap").is_enabled()
    assert all(url.startswith(("file:", "blob:", "data:")) for url in asked), asked
    own.close()
