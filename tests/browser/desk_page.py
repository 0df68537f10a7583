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
