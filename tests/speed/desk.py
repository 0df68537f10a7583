"""How quick the desk is: key to painted frame, time until it is ready, a long clip beside a short one, killed kernels.

    python tests/speed/desk.py                 # latency and readiness
    python tests/speed/desk.py --kills 20      # kernels killed at random while somebody edits

Needs a browser (CHROMIUM or one that is found). Nothing is asserted: the figures depend on the machine and its load.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.browser.lab import Lab, NotebookPage, browser_path, launch
from tests.desk_samples import sample_review

SHORT = {"reps": 3, "width": 540, "height": 960}
LONG = {"reps": 40, "width": 540, "height": 960}
WATCH = """root => {
    window.cbTimes = [];
    let pressed = 0;
    root.addEventListener('keydown', () => { pressed = performance.now(); }, true);
    new MutationObserver(() => {
        const from = pressed;
        if (from) requestAnimationFrame(() => window.cbTimes.push(performance.now() - from));
        pressed = 0;
    }).observe(root, { attributes: true, attributeFilter: ['data-frame'] });
}"""

ONE_READY = """() => document.querySelectorAll(".cb-desk[data-ready='1']").length === 1"""


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=0, help="kill the kernel so many times while editing")
    parser.add_argument("--short-only", action="store_true", help="leave the clip of 3 minutes out")
    return parser.parse_args()


def cells(name: str, sample: dict) -> tuple[str, str]:
    """Return the review in one cell, the desk in the next."""
    made = ", ".join(f"{k}={v}" for k, v in sample.items())
    return (
        f"import cuebook\nfrom tests.desk_samples import sample_review\nreview = sample_review('{name}.mp4', {made})",
        "desk = cuebook.desk(review, author='Orla Vennick')\ndesk",
    )


def open_desk(browser, lab: Lab, name: str) -> tuple[NotebookPage, object, float]:
    """Run both cells and return the page, the desk, and the seconds from the second cell to the first picture."""
    page = browser.new_context(viewport={"width": 1280, "height": 1200}, reduced_motion="reduce").new_page()
    nb = NotebookPage(page, lab).open(f"{name}.ipynb")
    nb.run_all()
    desk = page.locator(".cb-desk[data-ready='1']")
    desk.wait_for(timeout=180_000)
    page.evaluate("() => { jupyterapp.shell.currentWidget.content.activeCellIndex = 1; }")
    began = time.perf_counter()
    page.evaluate("jupyterapp.commands.execute('notebook:run-cell')")
    page.wait_for_function(ONE_READY, timeout=180_000)
    ready_s = time.perf_counter() - began
    desk.focus()
    return nb, desk, ready_s


def latencies(nb: NotebookPage, desk) -> dict[str, list[float]]:
    """Return milliseconds from a key to the painted frame with its overlay and trace, per kind of key."""
    nb.page.wait_for_timeout(3000)
    desk.evaluate(WATCH)
    found = {}
    for kind, keys in {"step on": ["ArrowRight"] * 60, "step back": ["ArrowLeft"] * 30,
                       "jump": ["q", "w", "e", "w"] * 5}.items():  # fmt: skip
        nb.page.evaluate("window.cbTimes.length = 0")
        for key in keys:
            nb.page.keyboard.press(key)
            nb.page.wait_for_timeout(220)
        found[kind] = nb.page.evaluate("[...window.cbTimes]")
    return found


def told(name: str, found: dict[str, list[float]], ready_s: float) -> float:
    """Print the figures of one clip and return the median over all kinds."""
    everything = [v for values in found.values() for v in values]
    for kind, values in [*found.items(), ("all", everything)]:
        ordered = sorted(values)
        p95 = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
        middle = statistics.median(values)
        print(f"{name:8} {kind:10} {len(values):4d} keys  median {middle:6.1f} ms  p95 {p95:6.1f} ms")
    print(f"{name:8} ready after {ready_s:.2f} s")
    return statistics.median(everything)


def kills(browser, lab: Lab, count: int) -> None:
    """Kill the kernel at a random moment after an edit, run the cells again and look for what was lost."""
    rng, lost = random.Random(7), 0
    lab.notebook("kills.ipynb", *cells("kills", {"reps": 3}))
    nb, desk, _ = open_desk(browser, lab, "kills")
    for i in range(count):
        nb.page.keyboard.press("ArrowRight")
        nb.page.keyboard.press("n")
        nb.page.keyboard.type(f"note {i}")
        nb.page.keyboard.press("Enter")
        said = desk.locator(".cb-said").inner_text()
        nb.page.wait_for_timeout(rng.uniform(0, 700))
        told = desk.locator(".cb-said").inner_text().startswith("Note kept")
        nb.kill_kernel()
        nb.page.wait_for_timeout(500)
        nb.run_all()
        desk = nb.page.locator(".cb-desk[data-ready='1']")
        desk.wait_for(timeout=120_000)
        nb.page.wait_for_timeout(1500)
        texts = nb.kernel("[n.text for n in desk.corrections.state.notes]")
        missing = [k for k in range(i + 1) if f"note {k}" not in texts]
        doubled = len(texts) - len(set(texts))
        if f"note {i}" not in texts:
            lost += told
            waiting = nb.page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('cuebook-'))")
            print(f"not there: it was {'' if told else 'not '}said to be kept; the desk had said '{said}', says "
                  f"'{desk.locator('.cb-said').inner_text()}', waits for {waiting}", nb.errors[-3:])  # fmt: skip
        print(f"kill {i + 1:2d}: {len(texts)} notes kept, missing {missing or 'none'}, doubled {doubled}")
        desk.focus()
    print(f"{count} kernels killed, {lost} kept notes lost")
    nb.shutdown()


def main() -> int:
    """Run what was asked for."""
    from playwright.sync_api import sync_playwright

    asked, path = arguments(), browser_path()
    if path is None:
        print("no Chromium, Chrome or Edge was found: name one in CHROMIUM")
        return 2
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        lab, browser = Lab(Path(folder)), launch(driver, path)
        (lab.root / "cuebook.toml").touch()
        try:
            if asked.kills:
                sample_review(lab.root / "kills.mp4", reps=3)
                kills(browser, lab, asked.kills)
                return 0
            medians = {}
            for name, sample in ({"short": SHORT} | ({} if asked.short_only else {"long": LONG})).items():
                sample_review(lab.root / f"{name}.mp4", **sample)
                lab.notebook(f"{name}.ipynb", *cells(name, sample))
                nb, desk, ready_s = open_desk(browser, lab, name)
                medians[name] = told(name, latencies(nb, desk), ready_s)
                nb.shutdown()
            if len(medians) == 2:
                print(f"long over short: {medians['long'] / medians['short']:.2f}")
        finally:
            browser.close()
            lab.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
