"""The browser's part is one module that imports nothing and asks nobody on the network."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from cuebook.errors import CuebookError
from cuebook.widgets import assets
from cuebook.widgets.assets import joined, style


@pytest.fixture(scope="module")
def module() -> str:
    return joined("desk.js")


def test_the_joined_module_imports_nothing_and_exports_once(module):
    assert not re.search(r"^\s*import\b", module, re.MULTILINE)
    assert re.findall(r"^export .*", module, re.MULTILINE) == ["export default { render };"]


def test_nothing_leaves_the_machine(module):
    for text in (module, style("desk.css")):
        assert not re.search(r"https?://|//cdn|\bfetch\(\s*[\"'`]|XMLHttpRequest|WebSocket|@import|url\(", text)


def test_a_file_comes_before_those_that_need_it(module):
    order = re.findall(r"^// ([\w-]+\.js)$", module, re.MULTILINE)
    assert len(order) == len(set(order))
    assert order[-1] == "desk.js"
    assert order.index("time.js") < order.index("player.js") < order.index("desk.js")


def test_two_files_with_one_name_are_refused(monkeypatch):
    files = {"js/a.js": 'import { f } from "./b.js";\nexport function g() {}\n',
             "js/b.js": "export function f() {}\nfunction g() {}\n"}  # fmt: skip
    monkeypatch.setattr(assets, "_read", files.__getitem__)
    with pytest.raises(CuebookError, match=r"a\.js and b\.js both define g"):
        joined.__wrapped__("a.js")


@pytest.mark.skipif(shutil.which("node") is None, reason="node is not installed; the browser tests load the module")
def test_it_is_valid(module, tmp_path):
    file = tmp_path / "desk.mjs"
    file.write_text(module, encoding="utf-8")
    checked = subprocess.run(["node", "--check", str(file)], capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stderr
