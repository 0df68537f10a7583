"""The contact sheet in a real browser: decisions by key, who of two it is, scoring; and in JupyterLab."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from cuebook.clip import read_clip, write_video
from tests.browser.sheet_page import sheet_page
from tests.sheet_samples import inbox, two_people
from tests.two_people import WIDTH_PX, write_beside, write_crossing

pytestmark = pytest.mark.browser
DEMO = Path(__file__).parents[2] / "clips_demo"


def opened(browser, path: Path) -> Iterator:
    """A page with the sheet, whose complaints fail the test."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    problems: list[str] = []
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    page.on("console", lambda message: problems.append(message.text) if message.type == "error" else None)
    page.goto(path.as_uri())
    page.wait_for_selector(".cb-sheet[data-ready]")
    page.locator(".cb-sheet").focus()
    yield page
    assert problems == []
    page.close()


@pytest.fixture
def sheet(browser, tmp_path):
    """The sheet of sixteen clips with a stand-in for the kernel, with what the page complained about."""
    yield from opened(browser, sheet_page(inbox(16), tmp_path / "sheet.html"))


@pytest.fixture
def room(browser, tmp_path):
    """The same with a clip of two people, which stands first because of the words that came with it."""
    week = inbox()
    yield from opened(browser, sheet_page(replace(week, entries=(two_people(), *week.entries)), tmp_path / "room.html"))


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
    sheet.get_by_role("button", name="Athlete", exact=True).click()
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


@pytest.mark.parametrize(
    ("key", "state"),
    [("p", "partly usable"), ("w", "wrong movement"), ("d", "duplicate"), ("x", "damaged, or no clip"),
     ("q", "needs an answer")],
)  # fmt: skip
def test_every_decision_has_its_key_and_its_button(sheet, key: str, state: str) -> None:
    first = sheet.locator(".cb-sheet").get_attribute("data-clip")
    sheet.keyboard.press(key)
    row = sheet.locator(f'[data-clip="{first}"].cb-sheet-row')
    row.locator("b.cb-decided", has_text=state).wait_for()
    assert sheet.get_by_role("toolbar", name="Decide").get_by_role("button", name=f"Decide: {state}").is_visible()
    sheet.keyboard.press("Home")
    sheet.keyboard.press("n")
    assert sheet.locator(".cb-sheet").get_attribute("data-at") == "1", "the next clip without a decision"
    sheet.keyboard.press("z")
    assert len(sent(sheet, "undo")) == 1


def test_enter_asks_for_the_desk_on_the_row_and_a_click_chooses_the_row(sheet) -> None:
    third = sheet.locator(".cb-sheet-row").nth(2)
    third.click()
    clip = third.get_attribute("data-clip")
    assert third.get_attribute("aria-selected") == "true"
    sheet.locator(".cb-sheet").press("Enter")
    assert sent(sheet, "open") == [{"type": "open", "clip": clip}]


def test_scoring_shows_how_far_it_is_and_can_be_stopped_and_gone_on_with(sheet) -> None:
    score = sheet.get_by_role("button", name="Score every usable clip")
    stop = sheet.get_by_role("button", name="Stop scoring")
    bar = sheet.get_by_role("progressbar", name="Scoring")
    assert stop.is_disabled()
    assert not bar.is_visible()
    sheet.keyboard.press("s")
    assert len(sent(sheet, "score")) == 1
    sheet.evaluate("model.set('scoring', {going: true, done: 3, total: 12, words: 'about 2 min left'})")
    assert sheet.get_by_text("3 of 12 done. about 2 min left").is_visible()
    assert bar.evaluate("e => e.value / e.max") == 0.25
    sheet.evaluate("model.set('scoring', {going: true, done: 3, total: 12, words: 'reading', far: 3.6})")
    assert bar.evaluate("e => e.value / e.max") == pytest.approx(0.3), "clips that are half done count"
    assert score.is_disabled()
    sheet.keyboard.press("s")
    assert len(sent(sheet, "score")) == 1, "not twice at once"
    sheet.keyboard.press("Shift+S")
    assert len(sent(sheet, "stop")) == 1
    sheet.evaluate("model.set('scoring', {going: false, done: 4, total: 12, words: 'stopped'})")
    assert stop.is_disabled()
    sheet.keyboard.press("s")
    assert len(sent(sheet, "score")) == 2
    sheet.evaluate("model.set('results', {'IMG_0001.mp4': {words: '8 reps; cues: 3 met', more: 'Sit lower.'}})")
    sheet.get_by_label("Find in the sheet").first.fill("0001")
    assert sheet.get_by_text("8 reps; cues: 3 met. Sit lower.").is_visible()


def test_who_of_two_is_the_athlete_is_chosen_with_keys_alone(room) -> None:
    row = room.locator(".cb-sheet-row").first
    row.locator(".cb-people-small .cb-ring").nth(1).wait_for()
    assert row.get_by_role("button", name="Who is the athlete?").is_visible()
    room.keyboard.press("c")
    asked = room.get_by_role("dialog", name="Who is the athlete?")
    assert asked.locator(".cb-people-picture .cb-ring").count() == 2
    assert "2 people found; number 1 is marked" in asked.get_by_role("status").inner_text()
    room.keyboard.press(".")
    assert "Picture 2 of 2, at 9.0 s. Nobody found here" in asked.get_by_role("status").inner_text()
    room.keyboard.press(",")
    room.keyboard.press("ArrowRight")
    assert asked.get_by_role("button", name="number 2 is the athlete").is_enabled()
    room.keyboard.press("Enter")
    assert not asked.is_visible()
    (answer,) = sent(room, "person")
    assert (answer["clip"], answer["point"]) == (two_people().clip, "700,320@4.2")
    assert room.evaluate("document.activeElement.classList.contains('cb-sheet')"), "keys go to the sheet again"


def test_a_click_on_a_person_chooses_and_a_click_beside_them_means_that_point(room) -> None:
    for share, point in (((0.26, 0.5), "240,300@4.2"), ((0.5, 0.25), "480,135@4.2")):
        room.locator(".cb-sheet").press("c")
        box = room.locator(".cb-people-picture").bounding_box()
        room.mouse.click(box["x"] + share[0] * box["width"], box["y"] + share[1] * box["height"])
        x, y = (int(n) for n in sent(room, "person")[-1]["point"].split("@")[0].split(","))
        wanted = [int(n) for n in point.split("@")[0].split(",")]
        assert (x, y) == (pytest.approx(wanted[0], abs=2), pytest.approx(wanted[1], abs=2))
    room.evaluate("(clip) => model.set('following', {[clip]: 'following the athlete, 40 %'})", two_people().clip)
    assert room.get_by_text("following the athlete, 40 %").is_visible()
    room.evaluate("(clip) => model.hear({type: 'refused', clip, sentence: 'The two cross.'})", two_people().clip)
    assert "The two cross." in room.locator(".cb-said").inner_text()
    room.locator(".cb-sheet").press("c")
    room.keyboard.press("Escape")
    assert room.get_by_role("dialog").count() == 0
    assert len(sent(room, "person")) == 2


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


WEEK = """import cuebook
sheet = cuebook.contact_sheet('{week}', manifest='{week}.csv', who='Dov Hessel', video=False, workers=1, pose={pose})
sheet"""


def test_the_one_pointed_at_is_followed_kept_and_scored_and_refused_where_they_cross(lab, nb) -> None:
    """Two rendered athletes; the answer is given by key on the sheet, and is there after the kernel was restarted."""
    folder = lab.root / "room"
    write_beside(folder / "front room.mp4")
    write_crossing(folder / "hall.mp4")
    (lab.root / "room.csv").write_text(
        "file,athlete,movement,message\nfront room.mp4,Fenn Otterley,squat,sore knee\nhall.mp4,Maud Otterley,squat,\n",
        encoding="utf-8",
    )
    nb.open(lab.notebook("room.ipynb", WEEK.format(week="room", pose=True))).run_all()
    page = nb.page
    root = page.locator(".cb-sheet")
    assert nb.kernel("[e.state for e in sheet.inbox.entries]") == ["needs_answer", "needs_answer"]
    root.press("c")
    page.locator(".cb-people-picture .cb-ring").nth(1).wait_for()
    page.keyboard.press("2")
    page.keyboard.press("Enter")
    page.locator(".cb-said", has_text="front room.mp4: usable").wait_for(timeout=60_000)
    x = float(nb.kernel("sheet.inbox.entries[0].person.value").split(",")[0])
    assert x > WIDTH_PX, "the one on the right"
    assert page.get_by_text("Who is the athlete?").count() == 1, "only the other clip still asks"
    root.press("End")
    root.press("c")
    page.locator(".cb-people-picture .cb-ring").nth(0).wait_for()
    page.keyboard.press("Enter")
    page.locator(".cb-said", has_text="come too near").wait_for(timeout=60_000)
    assert nb.kernel("sheet.inbox.entries[1].person.value") == "", "what was refused is not kept"

    root.press("s")
    page.get_by_text("Done, 1 clip: 1 scored.").wait_for(timeout=90_000)
    assert nb.kernel("sheet.table('clips')['person'].tolist()") == [nb.kernel("sheet.inbox.entries[0].person.value")]
    assert nb.kernel("sheet.table('clips')['state'].tolist()") == ["scored"]
    nb.restart_kernel()
    nb.run_all()
    page.wait_for_selector(".cb-sheet[data-ready]")
    assert nb.kernel("sheet.states[sheet.inbox.entries[0].clip]") == "usable"
    assert nb.errors == []
    assert nb.outside == []


def shortened(source: Path, target: Path) -> None:
    """Write four seconds of a demo clip, small."""
    clip = read_clip(source)
    pictures = (picture for _, picture in clip.frames(480, 60, 180))
    write_video(target, pictures, clip.times_s[60:180] - clip.times_s[60])


def test_scoring_is_stopped_and_gone_on_with_and_a_row_opens_on_the_desk(lab, nb) -> None:
    folder = lab.root / "scored"
    folder.mkdir()
    names = ("squat", "squat-shallow", "squat-dropped-fast")
    for name in names:
        shortened(DEMO / f"{name}.mp4", folder / f"{name}.mp4")
    lines = [f"{name}.mp4,Tamsin Broad,squat" for name in names]
    (lab.root / "scored.csv").write_text("\n".join(["file,athlete,movement", *lines]) + "\n", encoding="utf-8")
    nb.open(lab.notebook("scored.ipynb", WEEK.format(week="scored", pose=False))).run_all()
    page = nb.page
    root = page.locator(".cb-sheet")
    root.press("p")
    nb.wait_kernel("len(sheet.view.decisions) == 1")
    root.press("s")
    page.get_by_text("1 of 3 done").wait_for(timeout=90_000)
    root.press("Shift+S")
    page.get_by_text("S goes on from here.").wait_for(timeout=60_000)
    assert page.get_by_role("button", name="Score every usable clip").is_enabled()
    counted = nb.kernel("sheet.table('clips')['state'].value_counts().to_dict()")
    assert counted["scored"] in (1, 2)
    assert counted["scored"] + counted["not_done"] == 3
    took = "sheet.table('clips').query('state == \"scored\"').set_index('received_as')['took_s'].to_dict()"
    first = nb.kernel(took)
    root.press("s")
    page.get_by_text("Done, 3 clips: 3 scored.").wait_for(timeout=90_000)
    again = nb.kernel(took)
    assert len(again) == 3
    assert {name: again[name] for name in first} == pytest.approx(first, abs=0.11), "what was done is not done again"
    page.locator(".cb-sheet-row", has_text="; cues: ").nth(2).wait_for()

    root.press("Home")
    root.press("Enter")
    page.locator(".cb-desk").wait_for(timeout=90_000)
    page.get_by_text("Decided: partly usable, by Dov Hessel.").wait_for()
    assert nb.kernel("sorted(p.name for p in __import__('pathlib').Path('scored').iterdir())") == sorted(
        f"{name}.mp4" for name in names
    ), "nothing is written beside the clips"
    assert nb.errors == []
    assert nb.outside == []
