"""The athlete's tempo check in JupyterLab: the guide, a clip that is filmed or chosen there, and its measured bars."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from cuebook.clip import read_clip, write_video
from tests.browser.camera import with_camera
from tests.browser.lab import Lab, NotebookPage

pytestmark = pytest.mark.browser
DEMO = Path(__file__).parents[2] / "clips_demo"
CHECK = """import cuebook
check = cuebook.tempo_check(movement='squat', tempo='3-1-1-1', repetitions=4)
check"""


@pytest.fixture
def filmed(browser, lab: Lab) -> Iterator[NotebookPage]:
    """A notebook in a browser whose camera is made up: a test picture in which nobody is."""
    own = with_camera(browser)
    context = own.new_context(viewport={"width": 1100, "height": 1000}, reduced_motion="reduce")
    context.set_default_timeout(30_000)
    opened = NotebookPage(context.new_page(), lab)
    yield opened
    opened.shutdown()
    own.close()


def test_a_chosen_clip_is_measured_and_its_bars_stand_against_the_prescription(lab, nb, tmp_path) -> None:
    """Fifteen seconds of the rendered squat: whole repetitions, one sentence, uncertainty at each bar."""
    clip = read_clip(DEMO / "squat.mp4")
    small, last = tmp_path / "my set.mp4", 450
    write_video(small, (p for _, p in clip.frames(480, 0, last)), clip.times_s[:last])
    nb.open(lab.notebook("tempo.ipynb", CHECK)).run_all()
    page = nb.page
    guide = page.get_by_role("region", name="Tempo guide")
    guide.get_by_role("button", name="Start the set").click()
    page.wait_for_function("document.querySelector('.guide').dataset.word === 'four'")
    assert guide.get_by_role("status").inner_text() == "Get ready"
    guide.get_by_role("button", name="Stop").click()

    after = page.get_by_role("region", name="After the set")
    after.locator("[data-part=file]").set_input_files(small)
    bars = page.get_by_role("region", name="Measured tempo").locator("table.bars")
    bars.wait_for(timeout=90_000)
    after.get_by_text("The clip is kept as tempo-clips/my set.mp4").wait_for()
    assert (lab.root / "tempo-clips" / "my set.mp4").read_bytes() == small.read_bytes()
    counted = nb.kernel("[r.number for r in check.data.repetitions if r.counted]")
    rows = bars.locator("tbody tr")
    assert rows.count() == len(counted) >= 1
    table = nb.kernel("check.table()[['eccentric_s', 'eccentric_u_s']].iloc[0].tolist()")
    assert f"{table[0]:.1f} ± {table[1]:.1f} s: " in rows.first.inner_text()
    truth = json.loads((DEMO / "squat.truth.json").read_text(encoding="utf-8"))["repetitions"][0]["phases"]
    assert table[0] == pytest.approx(truth["eccentric_s"], abs=0.3), "as long as the rendered figure lowers itself"
    assert bars.locator("thead").inner_text().count("asked") == 4
    assert page.get_by_text(nb.kernel("check.sentence")).first.is_visible()
    assert bars.locator(".strip .asked").count() >= 3 * len(counted) - 1
    assert nb.errors == []
    assert nb.outside == []


def test_a_set_is_filmed_in_the_notebook_where_the_browser_has_a_camera(filmed: NotebookPage, lab: Lab) -> None:
    filmed.open(lab.notebook("camera.ipynb", CHECK)).run_all()
    page = filmed.page
    after = page.get_by_role("region", name="After the set")
    after.get_by_role("button", name="Film with this device").click()
    after.get_by_text("Recording, without sound.").wait_for()
    page.wait_for_timeout(3500)
    after.get_by_role("button", name="Stop and measure").click()
    measured = page.get_by_role("region", name="Measured tempo")
    measured.get_by_text("so nothing was judged").first.wait_for(timeout=90_000)
    (clip,) = (lab.root / "tempo-clips").glob("set-*.webm")
    assert read_clip(clip).duration_s > 2
    assert filmed.kernel("check.data.clip.path.name") == clip.name
    assert filmed.outside == []


def test_a_file_that_is_no_clip_is_one_sentence_and_the_cell_can_be_used_again(lab, nb, tmp_path) -> None:
    (tmp_path / "notes.mp4").write_text("Monday: squats.", encoding="utf-8")
    nb.open(lab.notebook("notes.ipynb", CHECK)).run_all()
    after = nb.page.get_by_role("region", name="After the set")
    after.locator("[data-part=file]").set_input_files(tmp_path / "notes.mp4")
    after.get_by_text("text file").wait_for()
    assert after.locator("[data-part=file]").is_enabled()
    assert nb.kernel("check.data") is None
    assert nb.errors == []
