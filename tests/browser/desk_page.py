"""What the tests of the desk share: the notebook, the opened desk, the number that a picture says it has."""

from __future__ import annotations

from tests.desk_samples import BITS

CELLS = (
    "import cuebook\nfrom tests.desk_samples import sample_review",
    "desk = cuebook.desk(sample_review('{name}.mp4'), author='Orla Vennick')\ndesk",
)

READ_BARCODE = """([root, bits]) => {
    const video = root.querySelector('video'), w = video.videoWidth, cell = Math.floor(w / bits);
    const c = document.createElement('canvas');
    [c.width, c.height] = [w, 8];
    const ctx = c.getContext('2d');
    ctx.drawImage(video, 0, 2, w, 8, 0, 0, w, 8);
    let number = 0;
    for (let b = 0; b < bits; b++) {
        const [r] = ctx.getImageData(b * cell + cell / 2, 4, 1, 1).data;
        number = 2 * number + (r > 128 ? 1 : 0);
    }
    return number;
}"""


CONTRAST = """root => {
    const linear = v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    const lum = c => c.slice(0, 3).map(v => linear(v / 255))
        .reduce((s, v, i) => s + v * [0.2126, 0.7152, 0.0722][i], 0);
    const rgb = s => (s.match(/[\\d.]+/g) || []).map(Number);
    const alpha = c => c.length < 4 ? 1 : c[3];
    const over = (top, below) => [0, 1, 2].map(i => top[i] * alpha(top) + below[i] * (1 - alpha(top)));
    let worst = 99;
    for (const box of root.querySelectorAll('p, b, span, li, dt, dd, h2, h3, button')) {
        if (!box.innerText || !box.offsetParent || box.closest('button:disabled, .cb-stage')) continue;
        const layers = [];
        for (let up = box; up; up = up.parentElement) layers.unshift(rgb(getComputedStyle(up).backgroundColor));
        const back = layers.reduce((below, top) => over(top, below), [255, 255, 255]);
        const ink = over(rgb(getComputedStyle(box).color), back);
        const [a, b] = [lum(ink), lum(back)];
        worst = Math.min(worst, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05));
    }
    return worst;
}"""
"""Smallest contrast of text on the desk, the formula of WCAG 2.1, success criterion 1.4.3."""
NAMELESS = """root => [...root.querySelectorAll('button, input, select, textarea, iframe, summary')]
    .filter(e => e.offsetParent && !(e.getAttribute('aria-label') || e.title || e.labels?.[0]?.innerText
        || e.innerText || '').trim())
    .map(e => e.outerHTML.slice(0, 120))"""
"""What can be worked and has no name for assistive technology."""


def desk_notebook(lab, name: str) -> str:
    """Write a notebook with the desk of a clip of that name, in a workspace."""
    (lab.root / "cuebook.toml").touch()
    return lab.notebook(f"{name}.ipynb", *(c.format(name=name) for c in CELLS))


def ready(nb):
    """The desk of a notebook whose cells have run, once the first picture is on the screen."""
    desk = nb.page.locator(".cb-desk[data-ready='1']")
    desk.wait_for(timeout=90_000)
    desk.focus()
    return desk


def opened(nb, notebook: str):
    """Open a notebook, run it and return its desk."""
    nb.open(notebook).run_all()
    return ready(nb)


def shown(desk) -> int:
    """The number that the picture on the screen says it has."""
    return desk.page.evaluate(READ_BARCODE, [desk.element_handle(), BITS])
