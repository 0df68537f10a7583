"""``cuebook review``: one clip judged and written."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuebook import printing
from cuebook.errors import ClipError

from .ahead import load_ahead
from .asked import Asked
from .options import TEMPO_HELP, ClipArgument, MirroredOption, MovementOption, RateOption, SideOption, progress_bars


def review(
    clip: ClipArgument,
    movement: MovementOption,
    side: SideOption = None,
    tempo: Annotated[str | None, typer.Option("--tempo", help=TEMPO_HELP, metavar="E-L-C-S")] = None,
    reps: Annotated[
        int | None, typer.Option("--reps", metavar="N", min=1, help="Repetitions asked for, per side.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Folder to write; default: CLIP's name with .review.")
    ] = None,
    capture_rate: RateOption = None,
    mirrored: MirroredOption = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="X,Y@T", help="A point on the athlete, if two are seen.")
    ] = None,
    no_video: Annotated[bool, typer.Option("--no-video", help="Leave the annotated clip out.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print review.json instead of a summary.")] = False,
) -> None:
    """Judge one clip and write a folder of results."""
    from cuebook.report.write import check_target, write_review

    if clip.is_dir():
        raise ClipError(f"{clip} is a folder, not a clip: name the file itself.")
    asked = Asked(clip, movement=movement, side=side, tempo=tempo, reps=reps)
    folder = out if out is not None else asked.review_folder
    check_target(folder)
    load_ahead()
    with asked.tracks(folder) as tracks, progress_bars() as progress:
        data = asked.judge(
            tracks,
            capture_rate=capture_rate,
            mirrored=mirrored,
            person=person,
            progress=progress("reading the clip"),
        )
        kept = tracks if asked.workspace is None else None
        written = write_review(
            data, folder, video=not no_video, track_dir=kept, progress=progress("writing the review")
        )
    if as_json:
        typer.echo((written / "review.json").read_text(encoding="utf-8"), nl=False)
        return
    printing.print_summary(data)
    typer.echo(f"\nWritten to {written}: open {written / 'feedback.html'}.")
    printing.print_caution()
