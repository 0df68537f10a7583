"""From a judged clip to files and pictures: data files, feedback page, stills, annotated clip, notebook view.

Nothing here decides: it shows what `cuebook.assess` found.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .page import feedback_page
    from .stills import Still, make_stills
    from .tables import review_json
    from .view import Review
    from .write import check_target, write_review

__all__ = ["Review", "Still", "check_target", "feedback_page", "make_stills", "review_json", "write_review"]

_HOME = {
    "Review": "view",
    "Still": "stills",
    "check_target": "write",
    "feedback_page": "page",
    "make_stills": "stills",
    "review_json": "tables",
    "write_review": "write",
}


def __getattr__(name: str) -> Any:
    """Load a name when it is first asked for, so that a review without pictures stays quick."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f".{_HOME[name]}", __name__), name)
