"""What several commands share: exit codes, options, progress bars."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Literal

import typer

Share = Callable[[float], None]
"""Takes the share that is done, 0 to 1."""

EXIT_DONE, EXIT_INPUT, EXIT_STOPPED = 0, 2, 130
"""Done; the input cannot be used; stopped by a key press, the usual code for that. A defect of ours ends in a
traceback, which Python turns into 1."""

ClipArgument = Annotated[Path, typer.Argument(help="The clip.", metavar="CLIP", show_default=False)]
MovementOption = Annotated[
    str,
    typer.Option("--movement", metavar="NAME", help="Name of the movement, or a movement file.", show_default=False),
]
SideOption = Annotated[
    Literal["left", "right"] | None, typer.Option("--side", help="Side that was asked for, as the athlete calls it.")
]
RateOption = Annotated[
    float | None,
    typer.Option(
        "--capture-rate", metavar="HZ", min=1.0, help="Frames per second at which a slow-motion clip was taken."
    ),
]
MirroredOption = Annotated[
    Literal["yes", "no"] | None, typer.Option("--mirrored", help="Whether the camera made a mirror picture.")
]
TEMPO_HELP = "Eccentric, long hold, concentric, short hold in seconds, such as 3-1-1-0 or 30X1."


@contextmanager
def progress_bars() -> Iterator[Callable[[str], Share | None]]:
    """Give a maker of progress bars on standard error; of nothing where that is no terminal."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bars:

        def bar(what: str) -> Share:
            task = bars.add_task(what, total=1.0)
            return lambda share: bars.update(task, completed=share)

        yield bar
