"""The browser's part of a widget: several small modules joined into the one that the notebook loads."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from cuebook.errors import CuebookError

_IMPORT = re.compile(r'^import\s*\{([^}]*)\}\s*from\s*"\./([\w-]+\.js)";\s*$', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const|let|class)\b)", re.MULTILINE)
_NAMES = re.compile(r"^(?:async )?(?:function|const|let|class) (\w+)", re.MULTILINE)


def _read(name: str) -> str:
    return files("cuebook.widgets").joinpath(name).read_text(encoding="utf-8")


@cache
def joined(entry: str) -> str:
    """Return one ES module made of `entry` and everything it imports, in the order in which it is needed.

    Each file is a module of its own that imports others by name from ``"./file.js"``; the names at the top of the
    files must differ, because all of them share one module in the end.

    Parameters
    ----------
    entry : str
        File in ``widgets/js``, with the default export.

    Raises
    ------
    CuebookError
        If two files define the same name.
    """
    order: list[str] = []
    sources: dict[str, str] = {}

    def visit(name: str) -> None:
        if name in sources:
            return
        sources[name] = _read(f"js/{name}")
        for _, needed in _IMPORT.findall(sources[name]):
            visit(needed)
        order.append(name)

    visit(entry)
    owner: dict[str, str] = {}
    parts = []
    for name in order:
        text = _EXPORT.sub("", _IMPORT.sub("", sources[name]))
        for defined in _NAMES.findall(text):
            if owner.setdefault(defined, name) != name:
                raise CuebookError(f"{name} and {owner[defined]} both define {defined}: rename one of them.")
        parts.append(f"// {name}\n{text.strip()}\n")
    return "\n".join(parts)


@cache
def style(name: str) -> str:
    """Return a style sheet of the widgets."""
    return _read(name)
