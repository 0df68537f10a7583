"""``cuebook tempo``: the phases of a clip beside the prescription, or a page that guides a set."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuebook import printing
from cuebook.errors import ClipError, OutputError

from .asked import Asked
from .options import TEMPO_HELP, MirroredOption, MovementOption, RateOption, SideOption, progress_bars


def tempo(
    movement: MovementOption,
    prescribed: Annotated[str, typer.Option("--tempo", help=TEMPO_HELP, metavar="E-L-C-S", show_default=False)],
    clip: Annotated[
        Path | None, typer.Argument(help="The clip; not needed for a page.", metavar="CLIP", show_default=False)
    ] = None,
    side: SideOption = None,
    capture_rate: RateOption = None,
    mirrored: MirroredOption = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="X,Y@T", help="A point on the athlete, if two are seen.")
    ] = None,
    page: Annotated[
        Path | None, typer.Option("--page", help="Write a page that guides the set and times it by hand.")
    ] = None,
    sound: Annotated[Path | None, typer.Option("--sound", help="Write the guide as a sound file (WAV).")] = None,
    reps: Annotated[int, typer.Option("--reps", metavar="N", min=1, help="Repetitions that page and sound guide.")] = 8,
    athlete: Annotated[str | None, typer.Option("--athlete", metavar="NAME", help="Whom the page is for.")] = None,
) -> None:
    """Show every phase beside the prescribed tempo."""
    if clip is None and page is None and sound is None:
        raise ClipError(
            "There is nothing to measure and nothing to write: name a clip of the set, such as set2.mp4, or give "
            "--page PAGE.html or --sound SET.wav to be guided before it."
        )
    for written in (page, sound):
        if written is not None and not written.parent.is_dir():
            raise OutputError(f"{written} cannot be written: make the folder {written.parent} first, or name another.")
    if clip is not None:
        asked = Asked(clip, movement=movement, side=side, tempo=prescribed, reps=None)
        with asked.tracks(None) as tracks, progress_bars() as progress:
            share = progress("reading the clip")
            data = asked.judge(tracks, capture_rate=capture_rate, mirrored=mirrored, person=person, progress=share)
        for warning in data.warnings:
            typer.echo(f"Mind: {warning}", err=True)
        printing.print_tempo(data)
    if page is not None or sound is not None:
        _guide(Path.cwd() if clip is None else clip.parent, movement, prescribed, reps, page, sound, athlete)
    printing.print_caution()


def _guide(
    near: Path, movement: str, prescribed: str, reps: int, page: Path | None, sound: Path | None, athlete: str | None
) -> None:
    """Write the page and the sound that were asked for, by the settings of the workspace near a folder."""
    from cuebook.guide.beats import set_beats
    from cuebook.guide.page import tempo_page
    from cuebook.guide.plan import set_plan
    from cuebook.guide.sounds import render_beats
    from cuebook.movements import find_workspace, load_movement, parse_tempo, read_settings
    from cuebook.whole import write_whole

    workspace = find_workspace(near)
    settings, margins = read_settings(workspace)
    chosen, asked = load_movement(movement, workspace=workspace), parse_tempo(prescribed)
    if page is not None:
        plan = set_plan(chosen, asked, reps, margins=margins, settings=settings)
        written = write_whole(page, tempo_page(plan, athlete=athlete))
        typer.echo(f"Written to {written}: it opens in any browser, also on a phone without a network.")
    if sound is not None:
        written = write_whole(sound, render_beats(set_beats(chosen, asked, reps)))
        typer.echo(f"Written to {written}.")
