"""Draws clips again: ``python -m cuebook.synthetic NAME_OR_SPEC ... --out FOLDER``.

A name is one of the demo clips, "demo" means all of them, and a spec is a JSON file: either a clip description or a
truth file, which holds one.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from cuebook.errors import ClipError, CuebookError

from .demo import demo_set, demo_spec
from .film import make_clip
from .scenario import ClipSpec, spec_from_json


def specs_of(word: str) -> list[ClipSpec]:
    """Return what a word on the command line asks for.

    Raises
    ------
    ClipError
        If it names a file that holds no description of a clip.
    UnknownName
        If it names no demo clip.
    """
    if word == "demo":
        return demo_set()
    if not word.endswith(".json"):
        return [demo_spec(word)]
    try:
        data = json.loads(Path(word).read_text(encoding="utf-8"))
        return [spec_from_json(data.get("spec", data))]
    except (OSError, ValueError, TypeError, AttributeError) as error:
        name = Path(word).name
        raise ClipError(f"{name} holds no description of a clip ({error}): give a spec or a truth file.") from error


def main(words: list[str] | None = None) -> int:
    """Draw the clips that are asked for and return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m cuebook.synthetic", description="Draw clips with known angles.")
    parser.add_argument("what", nargs="+", help="a demo clip, 'demo' for all of them, or a JSON file with a spec")
    parser.add_argument("--out", type=Path, default=Path("."), help="folder to write into")
    parser.add_argument("--missing", action="store_true", help="leave clips that exist")
    chosen = parser.parse_args(words)
    try:
        specs = [spec for word in chosen.what for spec in specs_of(word)]
        for spec in specs:
            if chosen.missing and (chosen.out / f"{spec.name}.mp4").exists():
                continue
            sys.stdout.write(f"{make_clip(spec, chosen.out)}\n")
    except CuebookError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
