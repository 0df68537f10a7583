"""The feedback page in a real browser: on a phone, on a desk, on paper, without colour and without a network."""

from __future__ import annotations

import re

import pytest

from cuebook.report import write_review
from tests.report_samples import make_review

pytestmark = [pytest.mark.browser, pytest.mark.timeout(120)]

CASES = {
    "judged": {},
    "doubtful": {"sides": "one", "prescribed": False, "doubtful": True, "width": 640, "height": 360},
    "front": {"view_name": "front"},
    "nobody": {"found": False},
}


@pytest.fixture(scope="module", params=sorted(CASES))
def page_file(request, tmp_path_factory):
    """A feedback page alone in a folder, as an athlete gets it."""
    folder = tmp_path_factory.mktemp(request.param)
    review = write_review(make_review(**CASES[request.param]), folder / "review", video=False)
    alone = folder / "sent" / "feedback.html"
    alone.parent.mkdir()
    alone.write_bytes((review / "feedback.html").read_bytes())
    return alone


@pytest.fixture
def opened(browser, page_file, request):
    """The page at a width, with what it asked for and complained about."""
    context = browser.new_context(viewport={"width": request.param, "height": 780})
    page = context.new_page()
    asked, complaints = [], []
    page.on("request", lambda r: asked.append(r.url))
    page.on("console", lambda m: complaints.append(m.text))
    page.on("pageerror", lambda e: complaints.append(str(e)))
    page.goto(page_file.as_uri())
    yield page, asked, complaints
    context.close()


BOTH = pytest.mark.parametrize("opened", [360, 1100], indirect=True)


@BOTH
def test_it_loads_alone_without_asking_anybody(opened, page_file):
    page, asked, complaints = opened
    outside = [u for u in asked if not u.startswith("data:")]
    assert outside == [page_file.as_uri()]
    assert complaints == []
    loaded = page.evaluate("[...document.images].map(i => i.complete && i.naturalWidth > 100)")
    assert all(loaded)


@BOTH
def test_nothing_sticks_out_and_type_is_large_enough(opened):
    page, _, _ = opened
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    sizes = page.evaluate(
        """() => {
            const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = [];
            while (walk.nextNode()) {
                const box = walk.currentNode.parentElement;
                if (!walk.currentNode.textContent.trim()) continue;
                const svg = box.closest('svg');
                const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
                found.push([parseFloat(getComputedStyle(box).fontSize) * scale, walk.currentNode.textContent.trim()]);
            }
            return found;
        }"""
    )
    small = [(size, text) for size, text in sizes if size < 11]
    assert small == []


@BOTH
def test_text_stands_out_from_its_background(opened):
    """Contrast of at least 4.5 to 1, the formula of WCAG 2.1, success criterion 1.4.3."""
    page, _, _ = opened
    worst = page.evaluate(
        """() => {
            const linear = v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
            const lum = c => c.slice(0, 3).map(v => linear(v / 255))
                .reduce((s, v, i) => s + v * [0.2126, 0.7152, 0.0722][i], 0);
            const rgb = s => (s.match(/[\\d.]+/g) || []).map(Number);
            let worst = 99;
            for (const box of document.querySelectorAll('p, b, span, th, td, li, dt, dd, h1, h2, h3, figcaption')) {
                let up = box, back = [0, 0, 0, 0];
                const seen = () => (back = rgb(getComputedStyle(up).backgroundColor), back.length < 4 || back[3] > 0);
                while (up && !seen()) up = up.parentElement;
                const a = lum(rgb(getComputedStyle(box).color)), b = lum(up ? back : [255, 255, 255]);
                worst = Math.min(worst, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05));
            }
            return worst;
        }"""
    )
    assert worst >= 4.5


@BOTH
def test_outcomes_are_words_that_remain_without_style(opened):
    page, _, _ = opened
    words = page.locator(".outcome").all_inner_texts()
    assert words
    allowed = r"[●◐○–] (met|near|near: too close to call|not met|not measurable|not seen)"
    assert [w for w in words if not re.fullmatch(allowed, w.strip())] == []


@pytest.mark.parametrize("opened", [1100], indirect=True)
def test_it_prints_on_a4_in_few_sheets(opened):
    page, _, _ = opened
    paper = page.pdf(prefer_css_page_size=True)
    sheets = len(re.findall(rb"/Type\s*/Page\b", paper))
    assert 1 <= sheets <= 3
    widths = {tuple(round(float(v)) for v in m.split()) for m in re.findall(rb"/MediaBox\s*\[([^\]]+)\]", paper)}
    assert all(abs(box[2] - 595) <= 2 and abs(box[3] - 842) <= 2 for box in widths)


@pytest.mark.parametrize("opened", [360], indirect=True)
def test_a_wide_table_is_reached_by_keyboard(opened):
    page, _, _ = opened
    regions = page.locator("[role=region]")
    for i in range(regions.count()):
        region = regions.nth(i)
        region.focus()
        assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("Outcome of every cue")
