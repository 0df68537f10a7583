"""A file may import only from the layers before its own, and computing never imports drawing."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "cuebook"

LAYERS: tuple[tuple[str, ...], ...] = (
    ("errors",),
    # Files written whole or not at all, for every layer that writes.
    ("whole",),
    ("model",),
    ("synthetic",),
    ("clip",),
    ("pose",),
    ("motion",),
    ("repetitions",),
    ("measures",),
    ("movements",),
    # Which movement a clip looks like: the inbox asks, and a review warns where it is another one.
    ("likeness",),
    ("assess",),
    # The record keeps what a report says of a review; screens and jobs use both, and never each other.
    ("report",),
    ("record",),
    ("widgets", "batch", "guide", "inbox"),
    # The contact sheet is the screen of the inbox and hands clips to the batch and to the desk.
    ("sheet",),
    ("api", "check", "printing", "cli"),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
HEAVY = {"cv2", "av", "mediapipe", "scipy", "pandas", "matplotlib", "pyvista", "vtk", "rich", "IPython", "jinja2"}
HEAVY |= {"dask", "distributed", "pyarrow"}
FILES = sorted(SOURCE.rglob("*.py"))


def layer_of(file: Path) -> str:
    return file.relative_to(SOURCE).parts[0].removesuffix(".py")


def imported(node: ast.AST, file: Path) -> list[str]:
    """Dotted names that an import statement loads, relative ones resolved."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if not isinstance(node, ast.ImportFrom):
        return []
    if node.level == 0:
        base = node.module or ""
    else:
        package = ("cuebook", *file.relative_to(SOURCE).parent.parts)
        base = ".".join((*package[: len(package) - node.level + 1], *([node.module] if node.module else [])))
    return [f"{base}.{alias.name}" for alias in node.names]


def test_every_folder_and_module_has_its_place() -> None:
    found = {layer_of(f) for f in FILES} - {"__init__", "__main__"}
    assert found <= set(RANK), f"not in the layer table: {sorted(found - set(RANK))}"


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(SOURCE)))
def test_imports_point_down_only(file: Path) -> None:
    own = layer_of(file)
    if own in ("__init__", "__main__"):
        return
    upward = []
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        for name in imported(node, file):
            parts = name.split(".")
            if parts[0] != "cuebook" or len(parts) < 2 or parts[1] not in RANK or parts[1] == own:
                continue
            if RANK[parts[1]] > RANK[own] or (RANK[parts[1]] == RANK[own] and own not in LAYERS[-1]):
                upward.append(f"line {node.lineno}: {name}")
    assert not upward, upward


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(SOURCE)))
def test_heavy_libraries_are_imported_inside_functions(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    guarded = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING")
        for inner in ast.walk(node)
    }
    early = [
        f"line {node.lineno}: {name}"
        for node in ast.walk(tree)
        if id(node) not in guarded
        for name in imported(node, file)
        if name.split(".")[0] in HEAVY
    ]
    assert not early, early


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(SOURCE)))
def test_a_module_stays_short(file: Path) -> None:
    assert len(file.read_text(encoding="utf-8").splitlines()) <= 500


def test_the_guard_sees_an_upward_import(tmp_path: Path) -> None:
    """The test above is worth nothing if `imported` misses a form of import."""
    file = SOURCE / "model" / "x.py"
    tree = ast.parse("from ..report import page\nfrom . import track\nimport cuebook.cli\nfrom cuebook import assess")
    assert [n for node in tree.body for n in imported(node, file)] == [
        "cuebook.report.page",
        "cuebook.model.track",
        "cuebook.cli",
        "cuebook.assess",
    ]
