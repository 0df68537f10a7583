"""What a batch said of each clip, in a few words for its row."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

NOT_DONE = "not done"
SERIOUS = ("A second person was seen", "The clip looks like")
"""How warnings begin after which no outcome of the clip is to be used before somebody looked."""
_SENTENCE = re.compile(r"[^.]+\.")
_WORDS = {"met": "met", "near": "near", "not_met": "not met", "not_measurable": "not measurable"}


def result_words(clips: pd.DataFrame, cues: pd.DataFrame | None) -> dict[str, dict[str, str]]:
    """Return what was said of each file: ``words``, and ``more`` where there is a reason or something to change.

    Parameters
    ----------
    clips, cues : DataFrame
        Tables of a batch over the inbox; cues of a whole set are counted.
    """
    out = {}
    for row in clips.to_dict("records"):
        file = str(row.get("received_as", row["clip"]))
        if row["state"] != "scored":
            out[file] = {"words": str(row["state"]).replace("_", " "), "more": _text(row["reason"])}
            continue
        counts: dict[str, int] = {}
        if cues is not None:
            own = cues[(cues["clip"] == row["clip"]) & cues["repetition"].isna()]
            counts = own["outcome"].value_counts().to_dict()
        said = ", ".join(f"{counts[outcome]} {words}" for outcome, words in _WORDS.items() if counts.get(outcome))
        reps = "1 rep" if row["counted"] == 1 else f"{row['counted']:.0f} reps"
        words = f"{reps}; cues: {said or 'none judged'}"
        out[file] = {"words": words, "more": " ".join([*serious(row), _text(row["fix"])]).strip()}
    return out


def serious(row: Mapping[str, object]) -> list[str]:
    """Return the warnings of a clip, a row of the table ``clips``, that make its outcomes doubtful as a whole."""
    sentences = [s.strip() for s in _SENTENCE.findall(_text(row.get("warnings")))]
    return [s for s in sentences if s.startswith(SERIOUS)]


def scored_files(clips: pd.DataFrame | None) -> set[str]:
    """Return the files that a batch scored, by the names they were received under.

    Parameters
    ----------
    clips : DataFrame or None
        Table of a batch over the inbox.
    """
    if clips is None:
        return set()
    return {str(row.get("received_as", row["clip"])) for row in clips.to_dict("records") if row["state"] == "scored"}


def waiting(results: Mapping[str, Mapping[str, str]], files: Collection[str]) -> dict[str, dict[str, str]]:
    """Return results as they stand while a batch goes on: what an earlier one was stopped before is waited for again.

    Parameters
    ----------
    results : mapping
        From `result_words`.
    files : collection of str
        What is scored now.
    """
    out = {file: dict(said) for file, said in results.items()}
    for file in files:
        if out.get(file, {}).get("words") == NOT_DONE:
            out[file] = {"words": "waiting to be scored", "more": ""}
    return out


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
