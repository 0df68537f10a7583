"""The command ``cuebook batch``: it parses arguments, calls `score_clips` and prints how it ended."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import EXIT_STOPPED

if TYPE_CHECKING:
    from cuebook.batch import Scored

EXIT_DEFECT = 1
"""A defect of ours set a clip aside."""

REASONS_SHOWN = 20


def batch(
    source: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER_OR_MANIFEST", help="Folder of clips, or CSV with a column 'clip'.", show_default=False
        ),
    ],
    movement: Annotated[
        str | None,
        typer.Option("--movement", metavar="NAME", help="Movement of clips whose row or folder does not name one."),
    ] = None,
    tempo: Annotated[
        str | None, typer.Option("--tempo", metavar="E-L-C-S", help="Tempo of clips whose row does not name one.")
    ] = None,
    reps: Annotated[
        int | None, typer.Option("--reps", metavar="N", min=1, help="Repetitions asked for, likewise.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Folder of the results; default: SOURCE.batch.")
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option("--workers", metavar="N", min=1, help="Processes on this machine; default: one per processor."),
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", metavar="ADDRESS", help="Dask scheduler that hands clips to machines.")
    ] = None,
    longest: Annotated[
        float, typer.Option("--longest", metavar="SECONDS", min=1.0, help="Seconds after which a clip is given up.")
    ] = 1800.0,
    person: Annotated[
        list[str] | None,
        typer.Option(
            "--person", metavar="[CLIP=]X,Y@T", help="A point on the athlete, if two are seen; once per clip."
        ),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Try clips again that an earlier run did not score.")] = False,
    no_video: Annotated[bool, typer.Option("--no-video", help="Leave the annotated clips out.")] = False,
) -> None:
    """Review many clips and gather the results in tables.

    Stopped with Ctrl-C, the same command goes on from there.
    """
    from cuebook.batch import score_clips
    from cuebook.batch.progress import shown

    try:
        with shown(sys.stderr) as show:
            scored = score_clips(
                source,
                movement=movement,
                tempo=tempo,
                repetitions=reps,
                out=out,
                workers=workers,
                scheduler=scheduler,
                video=not no_video,
                again=again,
                longest_s=longest,
                person=person or (),
                progress=show,
            )
    except KeyboardInterrupt:
        typer.echo("Stopped; what is done is kept. The same command goes on from there.", err=True)
        raise typer.Exit(EXIT_STOPPED) from None
    _print(scored)
    if scored.stopped:
        raise typer.Exit(EXIT_STOPPED)
    if scored.defects:
        raise typer.Exit(EXIT_DEFECT)


def _print(scored: Scored) -> None:
    from cuebook import printing

    for note in scored.notes:
        typer.echo(f"Mind: {note}", err=True)
    earlier = f" {scored.earlier} of them were done before." if scored.earlier else ""
    typer.echo(f"{scored}{earlier}")
    for name, _, reason in scored.others[:REASONS_SHOWN]:
        typer.echo(f"  {name}: {reason}")
    if len(scored.others) > REASONS_SHOWN:
        typer.echo(f"  and {len(scored.others) - REASONS_SHOWN} more, see clips.csv")
    if scored.others and not scored.stopped:
        typer.echo("Mend what can be mended and run the same command with --again.")
    typer.echo(f"Written to {scored.folder}: a review per clip, clips.csv, repetitions.csv, cues.csv.")
    printing.print_caution()
