"""Print the longest stall of the contact sheet while 500 clips are scrolled and sorted.

python tests/speed/sheet.py [--clips 500]

A stall is the time between two animation frames; the same page at rest, measured in the same run, is printed beside it.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.browser.sheet_page import sheet_page
from tests.sheet_samples import inbox

_WATCH = """(async (work) => {
  let longest = 0, last = performance.now(), going = true;
  const look = (now) => {
    longest = Math.max(longest, now - last);
    last = now;
    if (going) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
  await new Promise((r) => setTimeout(r, 100));
  longest = 0;
  const wait = (ms) => new Promise((r) => setTimeout(r, ms));
  await (%s)(wait);
  going = false;
  return longest;
})()"""
_REST = "async (wait) => { await wait(2500); }"
_SCROLL = """async (wait) => { const body = document.querySelector('.cb-sheet-body');
  for (let k = 0; k < 120; k += 1) { body.scrollTop += 380; await wait(16); }
  for (let k = 0; k < 12; k += 1) { body.scrollTop = (k % 2) * body.scrollHeight; await wait(80); } }"""
_SORT = """async (wait) => { for (let k = 0; k < 4; k += 1)
  for (const head of document.querySelectorAll('[role=columnheader] button')) { head.click(); await wait(60); } }"""
_FIND = """async (wait) => { const find = document.querySelector('.cb-sheet-head input');
  for (const text of ['t', 'ta', 'tam', 'tams', '']) {
    find.value = text;
    find.dispatchEvent(new Event('input'));
    await wait(60);
  } }"""


def main() -> None:
    """Run the measurement."""
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=500)
    clips = parser.parse_args().clips
    browser_path = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=browser_path, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(sheet_page(inbox(clips), Path(folder) / "sheet.html").as_uri())
        page.wait_for_selector(".cb-sheet[data-ready]")
        for name, work in (("at rest", _REST), ("scrolling", _SCROLL), ("sorting", _SORT), ("finding", _FIND)):
            print(f"{clips} clips, {name:10s} longest stall {page.evaluate(_WATCH % work):5.0f} ms (goal 100)")
        browser.close()


if __name__ == "__main__":
    main()
