"""The contact sheet in a real browser: one key per decision, sorting, finding; and in JupyterLab with its kernel."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.browser.sheet_page import sheet_page
from tests.sheet_samples import inbox

pytestmark = pytest.mark.browser
DEMO = Path(__file__).parents[2] / "clips_demo"


@pytest.fixture
def sheet(browser, tmp_path):
    """The sheet of sixteen clips with a stand-in for the kernel, with what the page complained about."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    problems: list[str] = []
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    page.on("console", lambda message: problems.append(message.text) if message.type == "error" else None)
    page.goto(sheet_page(inbox(16), tmp_path / "sheet.html").as_uri())
    page.wait_for_selector(".cb-sheet[data-ready]")
    page.locator(".cb-sheet").focus()
    yield page
    assert problems == []
    page.close()


def sent(page, kind: str) -> list[dict]:
    return [m for m in page.evaluate("window.sent") if m["type"] == kind]


def test_one_key_decides_and_goes_to_the_next_clip(sheet) -> None:
    first = sheet.locator(".cb-sheet").get_attribute("data-clip")
    sheet.keyboard.press("u")
    (decision,) = sent(sheet, "decide")
    assert (decision["clip"], decision["state"], decision["reason"]) == (first, "usable", "")
    assert sheet.locator(".cb-sheet").get_attribute("data-at") == "1"
    assert "usable. Z takes it back" in sheet.locator(".cb-said").inner_text()
    row = sheet.locator(f'[data-clip="{first}"].cb-sheet-row')
    row.get_by_text("decided by Dov Hessel").wait_for()
    assert sheet.get_by_text("14 of 15 left to decide").is_visible()


def test_filming_again_asks_for_one_of_the_fixed_reasons(sheet) -> None:
    sheet.keyboard.press("f")
    asked = sheet.get_by_role("dialog", name="Why film again")
    assert asked.get_by_role("button").count() == 12
    sheet.keyboard.press("4")
    assert [(d["state"], d["reason"]) for d in sent(sheet, "decide")] == [("refilm", "too_dark")]
    sheet.keyboard.press("f")
    sheet.keyboard.press("Escape")
    assert len(sent(sheet, "decide")) == 1
    sheet.keyboard.press("w")
    assert len(sent(sheet, "decide")) == 2, "the keys work again after the question"


def test_sorting_finding_and_the_next_undecided(sheet) -> None:
    sheet.get_by_role("button", name="Athlete").click()
    names = sheet.locator(".cb-sheet-who b").all_inner_texts()
    assert names == sorted(names, key=lambda n: "" if n == "whose?" else n)
    assert sheet.get_by_role("columnheader").filter(has_text="Athlete").get_attribute("aria-sort") == "ascending"
    sheet.keyboard.press("/")
    sheet.keyboard.type("piet")
    assert sheet.locator(".cb-sheet-row").count() == 1
    sheet.keyboard.press("Escape")
    sheet.keyboard.press("u")
    sheet.get_by_label("Find in the sheet").first.fill("")
    sheet.get_by_label("Show only").select_option("open")
    assert "Piet Aalder" not in sheet.locator(".cb-sheet-who b").all_inner_texts()


def test_only_rows_in_view_exist_and_every_part_has_a_name(browser, tmp_path) -> None:
    page = browser.new_page(viewport={"width": 1000, "height": 900})
    page.goto(sheet_page(inbox(500), tmp_path / "sheet.html").as_uri())
    page.wait_for_selector(".cb-sheet[data-ready]")
    assert page.locator(".cb-sheet-row").count() < 30
    page.locator(".cb-sheet").press("End")
    page.wait_for_function("document.querySelector('.cb-sheet').dataset.at === '498'")
    assert page.locator('.cb-sheet-row[aria-selected="true"]').count() == 1
    assert len({m for s in sent(page, "strips") for m in s["clips"]}) < 60, "only strips in view are asked for"
    for control in page.locator("button, input, select").all():
        assert control.evaluate("e => (e.getAttribute('aria-label') || e.textContent).trim().length > 1")
    page.close()


def test_a_decision_survives_the_kernel_and_the_notebook(lab, nb) -> None:
    folder = lab.root / "week"
    folder.mkdir()
    for name in ("squat", "push-up"):
        shutil.copy(DEMO / f"{name}.mp4", folder / f"{name}.mp4")
    (lab.root / "week.csv").write_text(
        "file,athlete,movement\nsquat.mp4,Tamsin Broad,squat\npush-up.mp4,Piet Aalder,push-up\n", encoding="utf-8"
    )
    cells = (
        "import cuebook\nsheet = cuebook.contact_sheet('week', manifest='week.csv', who='Dov Hessel')\nsheet",
        "sheet.needs_a_look()",
    )
    nb.open(lab.notebook("sheet.ipynb", *cells)).run_all()
    page = nb.page
    page.wait_for_selector(".cb-sheet[data-ready]")
    page.locator(".cb-sheet-stills img").nth(1).wait_for()
    page.locator(".cb-sheet").press("p")
    nb.wait_kernel("[d.state for d in sheet._triage.standing.values()] == ['partly']")
    nb.restart_kernel()
    nb.run_all()
    page.wait_for_selector(".cb-sheet[data-ready]")
    page.get_by_text("decided by Dov Hessel").first.wait_for()
    assert page.get_by_text("1 of 2 left to decide").first.is_visible()
    page.locator(".cb-sheet").last.press("z")
    nb.wait_kernel("not sheet._triage.standing")
    assert nb.errors == []
    assert nb.outside == []
