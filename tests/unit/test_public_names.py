"""The export list is what is public, quick to load, and free of names of folders."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import cuebook

SOURCE = Path(cuebook.__file__).parent


def test_the_list_is_sorted_short_and_every_name_can_be_had() -> None:
    assert cuebook.__all__ == sorted(cuebook.__all__)
    assert len(cuebook.__all__) <= 40
    for name in cuebook.__all__:
        assert getattr(cuebook, name) is not None
    assert set(cuebook.__all__) <= set(dir(cuebook))


def test_no_public_name_is_a_folder_or_module() -> None:
    """Lazy loading would hand out the module instead of the function."""
    modules = {p.stem for p in SOURCE.iterdir() if p.suffix == ".py" or (p.is_dir() and (p / "__init__.py").exists())}
    assert not modules & set(cuebook.__all__)


def test_every_public_thing_says_what_it_is() -> None:
    for name in cuebook.__all__:
        thing = getattr(cuebook, name)
        if callable(thing):
            assert thing.__doc__, name


def test_importing_loads_nothing_heavy() -> None:
    code = (
        "import sys, cuebook; "
        "print(sorted({m.split('.')[0] for m in sys.modules} & "
        "{'av','cv2','mediapipe','scipy','pandas','matplotlib','jinja2','rich','typer','IPython','pyvista','jax'}))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
