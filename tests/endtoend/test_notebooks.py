"""Every notebook runs from top to bottom in a fresh kernel and leaves nothing behind in the tree."""

from __future__ import annotations

import shutil
from pathlib import Path

import nbclient
import nbformat
import pytest

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda p: p.stem)
def test_a_notebook_runs_from_top_to_bottom(notebook: Path, tmp_path: Path) -> None:
    (tmp_path / "notebooks").mkdir()
    shutil.copytree(ROOT / "clips_demo", tmp_path / "clips_demo")
    book = nbformat.read(notebook, as_version=4)
    client = nbclient.NotebookClient(
        book,
        timeout=240,
        kernel_name="python3",
        store_widget_state=False,
        resources={"metadata": {"path": str(tmp_path / "notebooks")}},
    )
    client.execute()
    shown = [output for cell in book.cells if cell.cell_type == "code" for output in cell.outputs]
    assert shown, "a notebook that shows nothing teaches nothing"
    assert not [o for o in shown if o.output_type == "stream" and o.name == "stderr" and "Error" in o.text]


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS
