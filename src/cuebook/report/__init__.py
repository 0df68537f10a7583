"""From a judged clip to files and pictures: data files, feedback page, stills, annotated clip, notebook view.

Nothing here decides: it shows what `cuebook.assess` found.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .feedback_draft import draft_feedback
    from .feedback_files import feedback_warnings, still_at, write_feedback
    from .page import feedback_page
    from .reference import write_reference
    from .stills import Still, make_stills
    from .tables import review_json
    from .view import Review
    from .write import check_target, write_review

__all__ = [
    "Review",
    "Still",
    "check_target",
    "draft_feedback",
    "feedback_page",
    "feedback_warnings",
    "make_stills",
    "review_json",
    "still_at",
    "write_feedback",
    "write_reference",
    "write_review",
]

_HOME = {
    "Review": "view",
    "Still": "stills",
    "check_target": "write",
    "draft_feedback": "feedback_draft",
    "feedback_page": "page",
    "feedback_warnings": "feedback_files",
    "make_stills": "stills",
    "review_json": "tables",
    "still_at": "feedback_files",
    "write_feedback": "feedback_files",
    "write_reference": "reference",
    "write_review": "write",
}


def __getattr__(name: str) -> Any:
    """Load a name when it is first asked for, so that a review without pictures stays quick."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f".{_HOME[name]}", __name__), name)
