"""The forms for feedback and for a reference clip in a real JupyterLab: by keyboard, written only on request."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import expect

from tests.browser.desk_page import CONTRAST, NAMELESS, ready
from tests.desk_samples import sample_review

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]

FIRST = "import cuebook\nfrom tests.desk_samples import sample_review\nreview = sample_review('{name}.mp4')"
DESK = "desk = cuebook.desk(review, author='Orla Vennick')\ndesk"
FEEDBACK = "feedback = desk.feedback('{name} feedback', athlete='Tamsin Broad')\nfeedback"
REFERENCE = "reference = desk.reference('{name} reference')\nreference"


@pytest.fixture
def opened(nb, lab, request):
    """The desk with a form under it, and the name of the clip."""
    name = request.node.name.removeprefix("test_")[:20]
    (lab.root / "cuebook.toml").touch()
    sample_review(lab.root / f"{name}.mp4")
    cells = [c.format(name=name) for c in (FIRST, DESK, request.param)]
    nb.open(lab.notebook(f"{name}.ipynb", *cells)).run_all()
    desk = ready(nb)
    form = nb.page.locator(".jp-Cell").nth(2).locator(".jp-OutputArea-output")
    yield desk, form, name
    assert nb.errors == []
    assert nb.outside == []


def said(form, words: str) -> None:
    """Wait for a sentence of the form."""
    expect(form.get_by_role("status").filter(has_text=words)).to_be_visible(timeout=60_000)


@pytest.mark.parametrize("opened", [FEEDBACK], indirect=True)
def test_feedback_is_edited_counted_previewed_and_written(opened, nb, lab):
    _, form, name = opened
    press = nb.page.keyboard.press
    praise = form.get_by_label("Praise")
    praise.focus()
    press("Control+a")
    nb.page.keyboard.type("Heels down all the way. ")
    phone = form.locator("iframe[title='The feedback as a phone shows it']")
    expect(phone.content_frame.get_by_text("Heels down all the way.")).to_be_visible()
    assert phone.bounding_box()["width"] == pytest.approx(392, abs=3)
    expect(phone.content_frame.get_by_text("Tamsin Broad").first).to_be_visible()
    nb.wait_kernel("desk.corrections.draft.praise.strip() == 'Heels down all the way.'")
    assert nb.kernel("len(desk.corrections.drafts())") <= 3, "a version when the typing rests, not one for every letter"

    kept = nb.kernel("desk.corrections.draft.version")
    nb.page.keyboard.insert_text("again " * 61)
    said(form, "take out")
    over = int(re.search(r"(\d+) of 60 words: take out (\d+)", form.inner_text()).group(1))
    assert over > 60
    button = form.get_by_role("button", name="Write the files")
    button.focus()
    press("Space")
    said(form, "60 are the most")
    assert not (lab.root / f"{name} feedback").exists()
    assert nb.kernel("desk.corrections.draft.version") == kept, "what is too long is not kept"

    praise.focus()
    press("Control+a")
    nb.page.keyboard.type("Heels down, chest tall.")
    for _ in range(8):  # from the text to the button with Tab alone
        press("Tab")
        if button.evaluate("b => b === document.activeElement"):
            break
    expect(button).to_be_focused()
    press("Space")
    said(form, "Nothing was sent")
    folder = lab.root / f"{name} feedback"
    assert {"feedback.html", "message.txt", "picture.jpg"} == {p.name for p in folder.iterdir()}
    assert (folder / "message.txt").read_text(encoding="utf-8").startswith("Heels down, chest tall.")
    assert "Heels down, chest tall." in (folder / "feedback.html").read_text(encoding="utf-8")

    nb.restart_kernel()
    nb.run_all()
    ready(nb)
    expect(form.get_by_label("Praise")).to_have_value("Heels down, chest tall.")


@pytest.mark.parametrize("opened", [REFERENCE], indirect=True)
def test_a_reference_is_marked_from_the_desk_and_written(opened, nb, lab):
    desk, form, name = opened
    press = nb.page.keyboard.press
    model = form.get_by_label("Model")
    nb.page.wait_for_timeout(500)  # the notebook gives the keys to its last cell once more when all have run
    model.focus()
    press("ArrowDown")
    nb.wait_kernel("reference.model.value == 'r2'")
    turn = nb.kernel("desk.review.data.repetitions[1].turn_s")
    expect(form.get_by_label("Turn, s")).to_have_value(f"{turn:.2f}".rstrip("0"))
    angles = form.get_by_role("table", name="Angles at the key positions")
    expect(angles.get_by_role("row")).to_have_count(3)
    expect(angles).to_contain_text("±")

    desk.focus()
    for key in ("ArrowDown", "ArrowDown", "w", "ArrowRight", "ArrowRight", "ArrowRight"):
        press(key)
    later = nb.kernel(f"float(desk.review.data.clip.times_s[abs(desk.review.data.clip.times_s - {turn}).argmin() + 3])")
    nb.wait_kernel(f"abs(desk._now_s() - {later}) < 0.02")
    take = form.get_by_role("button", name="Turn as shown")
    take.focus()
    press("Space")
    nb.wait_kernel(f"abs(reference.positions['turn'] - {later}) < 0.02")

    form.get_by_label("Turn, s").fill("0")
    form.get_by_label("Turn, s").press("Tab")
    said(form, "must follow each other")
    take.focus()
    press("Space")
    nb.wait_kernel(f"abs(reference.positions['turn'] - {later}) < 0.02")

    form.get_by_label("Think of").fill("Hips back first.\nKnees follow the toes.")
    form.get_by_label("Shown").fill("A drawn figure, no person.")
    form.get_by_label("Consent").fill("Not needed.")
    form.get_by_role("button", name="Write the reference").focus()
    press("Space")
    said(form, "Written to")
    folder = lab.root / f"{name} reference"
    assert {p.name for p in folder.iterdir()} == {
        "start.jpg", "turn.jpg", "end.jpg", "reference.mp4", "reference.json", "reference.html"
    }  # fmt: skip
    facts = json.loads((folder / "reference.json").read_text(encoding="utf-8"))
    assert facts["sentences"] == ["Hips back first.", "Knees follow the toes."]
    page = (folder / "reference.html").read_text(encoding="utf-8")
    assert "A drawn figure, no person." in page
    assert "Not needed." not in page, "what was agreed to is kept out of the page"
    assert f"{later:.2f}"[:4] in json.dumps(facts)


FOCUS_SHOWN = """() => { const s = getComputedStyle(document.activeElement);
    return (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 1) || s.boxShadow !== 'none'
        || parseFloat(s.borderTopWidth) >= 1 && s.borderTopColor !== s.backgroundColor; }"""


@pytest.mark.parametrize("opened", [FEEDBACK, REFERENCE], indirect=True, ids=["feedback", "reference"])
def test_forms_have_names_show_the_focus_and_are_readable_in_both_themes(opened, nb):
    _, form, _ = opened
    assert form.evaluate(NAMELESS) == []
    names = form.get_by_role("button").all_inner_texts()
    assert len(set(names)) == len(names), "two buttons of one name cannot be told apart"
    form.locator("textarea, select").first.focus()
    seen = set()
    for _ in range(12):
        nb.page.keyboard.press("Tab")
        if not form.evaluate("f => f.contains(document.activeElement)"):
            break
        seen.add(nb.page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
        if nb.page.evaluate("document.activeElement.tagName") != "IFRAME":
            assert nb.page.evaluate(FOCUS_SHOWN)
    assert len(seen) >= 4
    for theme in ("JupyterLab Light", "JupyterLab Dark"):
        nb.page.evaluate("t => jupyterapp.commands.execute('apputils:change-theme', {theme: t})", theme)
        light = "true" if theme.endswith("Light") else "false"
        nb.page.wait_for_function("v => document.body.dataset.jpThemeLight === v", arg=light)
        assert form.evaluate(CONTRAST) >= 4.5
