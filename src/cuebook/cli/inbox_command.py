"""The command ``cuebook inbox``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import EXIT_STOPPED, Share, progress_bars

if TYPE_CHECKING:
    from cuebook.inbox import Inbox


def inbox(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="The folder the clips were saved in.", show_default=False)
    ],
    manifest: Annotated[
        Path | None,
        typer.Option("--manifest", metavar="FILE", help="CSV with columns such as file, athlete, movement, due."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Folder to write; default: FOLDER with .sorted.")
    ] = None,
    movement: Annotated[
        str | None, typer.Option("--movement", metavar="NAME", help="Movement of every clip that names none.")
    ] = None,
    athlete: Annotated[
        str | None, typer.Option("--athlete", metavar="NAME", help="Athlete of every clip that names none.")
    ] = None,
    quick: Annotated[bool, typer.Option("--quick", help="Leave the pose out: a second a clip.")] = False,
    no_copy: Annotated[bool, typer.Option("--no-copy", help="Give new names, but copy no clip.")] = False,
    person: Annotated[
        list[str] | None,
        typer.Option(
            "--person", metavar="[FILE=]X,Y@T", help="A point on the athlete, if two are seen; once per clip."
        ),
    ] = None,
    accept_looks: Annotated[
        bool, typer.Option("--accept-looks", help="Take what a clip surely looks like for its movement.")
    ] = False,
) -> None:
    """Sort a folder of received clips and say what is missing.

    Stopped with Ctrl-C, the same command goes on from there.
    """
    from cuebook.inbox import sort_inbox

    try:
        with progress_bars() as progress:
            found = sort_inbox(
                folder,
                out=out,
                manifest=manifest,
                movement=movement,
                athlete=athlete,
                pose=not quick,
                copy=not no_copy,
                accept_looks=accept_looks,
                person=person or (),
                progress=progress("looking at the clips") or _lines(),
            )
    except KeyboardInterrupt:
        typer.echo("Stopped; what was looked at is kept. The same command goes on from there.", err=True)
        raise typer.Exit(EXIT_STOPPED) from None
    print_inbox(found)
    written = out if out is not None else folder.resolve().with_name(f"{folder.resolve().name}.sorted")
    typer.echo(f"\nWritten to {written}: messages.txt to send, answers.csv to fill in, inbox.csv with everything.")


def _lines() -> Share:
    """Return what says in plain lines how far it is, one for each tenth, where there is no terminal for a bar."""
    said = 0

    def tell(share: float) -> None:
        nonlocal said
        if (now := int(10 * share + 1e-9)) > said:
            said = now
            typer.echo(f"{10 * now} % of the clips looked at.", err=True)

    return tell


def print_inbox(found: Inbox) -> None:
    """Print one line a file, then how many are in each state and what is missing."""
    from cuebook.inbox import STATES
    from cuebook.inbox.messages import alike_words
    from cuebook.inbox.pain import look_first
    from cuebook.printing import print_columns

    rows = [(e.file, STATES[e.state], e.athlete.value or "–", e.movement.value or "–", e.reason) for e in found.entries]
    if rows:
        print_columns([("file", "state", "athlete", "movement", "why"), *rows])
    for entry in found.entries:
        if said := look_first(entry.athlete.value, entry.file, entry.message):
            typer.echo(f"\nLook at this first: {said}")
    counts = ", ".join(f"{many} {STATES[state]}" for state, many in found.counts.items() if many)
    number = len(found.entries)
    typer.echo(f"\n{number} file{'' if number == 1 else 's'}: {counts or 'none'}.")
    for one, other in found.alike:
        typer.echo(f"Mind: {alike_words(one, other)}")
    if found.ignored:
        typer.echo(f"Left out, since a system made them: {', '.join(found.ignored)}.")
    if found.missing:
        said = ", ".join(f"{owed.athlete} ({owed.movement})" for owed in found.missing)
        typer.echo(f"Missing: {said}.")
