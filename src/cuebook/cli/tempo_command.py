"""``cuebook tempo``: the phases of a clip beside the prescription."""

from __future__ import annotations

from typing import Annotated

import typer

from cuebook import printing

from .asked import Asked
from .options import TEMPO_HELP, ClipArgument, MirroredOption, MovementOption, RateOption, SideOption, progress_bars


def tempo(
    clip: ClipArgument,
    movement: MovementOption,
    prescribed: Annotated[str, typer.Option("--tempo", help=TEMPO_HELP, metavar="E-L-C-S", show_default=False)],
    side: SideOption = None,
    capture_rate: RateOption = None,
    mirrored: MirroredOption = None,
) -> None:
    """Show every phase beside the prescribed tempo."""
    asked = Asked(clip, movement=movement, side=side, tempo=prescribed, reps=None)
    with asked.tracks(None) as tracks, progress_bars() as progress:
        data = asked.judge(tracks, capture_rate=capture_rate, mirrored=mirrored, progress=progress("reading the clip"))
    printing.print_tempo(data)
    printing.print_caution()
