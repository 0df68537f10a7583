"""The command line: it parses arguments, calls the package and prints; nothing is computed here."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from cuebook import printing
from cuebook.errors import ClipError, CuebookError

if TYPE_CHECKING:
    from cuebook.model import ReviewData

Share = Callable[[float], None]

EXIT_DONE, EXIT_INPUT = 0, 2
"""A defect of ours ends in a traceback, which Python turns into 1."""

_UsageError = typer.BadParameter.__base__

app = typer.Typer(
    help="From a phone clip of one athlete to joint angles, repetitions, tempo and honest verdicts on coaching cues.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
movements_app = typer.Typer(help="The movements that can be reviewed.", rich_markup_mode=None)
models_app = typer.Typer(help="Pose models kept on this machine.", rich_markup_mode=None)
app.add_typer(movements_app, name="movements")
app.add_typer(models_app, name="models")

ClipArgument = Annotated[Path, typer.Argument(help="The clip.", metavar="CLIP", show_default=False)]
MovementOption = Annotated[
    str, typer.Option("--movement", help="Name of the movement, or a movement file.", show_default=False)
]
SideOption = Annotated[
    Literal["left", "right"] | None, typer.Option("--side", help="Side that was asked for, as the athlete calls it.")
]
RateOption = Annotated[
    float | None,
    typer.Option("--capture-rate", min=1.0, help="Frames per second at which a slow-motion clip was taken."),
]
MirroredOption = Annotated[
    Literal["yes", "no"] | None, typer.Option("--mirrored", help="Whether the camera made a mirror picture.")
]
TEMPO_HELP = "Eccentric, long hold, concentric, short hold in seconds, such as 3-1-1-0 or 30X1."


@app.command()
def review(
    clip: ClipArgument,
    movement: MovementOption,
    side: SideOption = None,
    tempo: Annotated[str | None, typer.Option("--tempo", help=TEMPO_HELP, metavar="E-L-C-S")] = None,
    reps: Annotated[int | None, typer.Option("--reps", min=1, help="Repetitions asked for, per side.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder to write; default: CLIP's name with .review.")
    ] = None,
    capture_rate: RateOption = None,
    mirrored: MirroredOption = None,
    no_video: Annotated[bool, typer.Option("--no-video", help="Leave the annotated clip out.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print review.json instead of a summary.")] = False,
) -> None:
    """Judge one clip and write what was seen into a folder."""
    from cuebook.report.write import check_target, write_review

    if clip.is_dir():
        raise ClipError(f"{clip} is a folder, not a clip: name the file itself.")
    folder = out if out is not None else clip.with_name(f"{clip.stem}.review")
    asked = _Asked(clip, movement=movement, side=side, tempo=tempo, reps=reps)
    check_target(folder)
    with asked.tracks(folder) as tracks, _progress() as progress:
        data = asked.judge(tracks, capture_rate=capture_rate, mirrored=mirrored, progress=progress("reading the clip"))
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


@app.command()
def tempo(
    clip: ClipArgument,
    movement: MovementOption,
    prescribed: Annotated[str, typer.Option("--tempo", help=TEMPO_HELP, metavar="E-L-C-S", show_default=False)],
    side: SideOption = None,
    capture_rate: RateOption = None,
    mirrored: MirroredOption = None,
) -> None:
    """Show the phases of every repetition beside the prescribed tempo."""
    asked = _Asked(clip, movement=movement, side=side, tempo=prescribed, reps=None)
    with asked.tracks(None) as tracks, _progress() as progress:
        data = asked.judge(tracks, capture_rate=capture_rate, mirrored=mirrored, progress=progress("reading the clip"))
    printing.print_tempo(data)
    printing.print_caution()


@app.command()
def check() -> None:
    """Look over this installation, one sentence per part."""
    from cuebook.check import check_installation

    ready = True
    for finding in check_installation():
        ready = ready and (finding.fine or finding.optional)
        mark = "fine" if finding.fine else "left out" if finding.optional else "MISSING"
        typer.echo(f"{mark:>8}  {finding.sentence}")
    if not ready:
        raise typer.Exit(EXIT_INPUT)


@movements_app.command("list")
def list_all() -> None:
    """Name every movement with its title and the views it is filmed from."""
    from cuebook.movements import find_workspace, list_movements, load_movement

    workspace = find_workspace(Path.cwd())
    found = [load_movement(name, workspace=workspace) for name in list_movements(workspace=workspace)]
    printing.print_columns([("name", "title", "views"), *((m.name, m.title, ", ".join(m.views)) for m in found)])


@movements_app.command()
def show(name: Annotated[str, typer.Argument(help="Name of a movement, or a movement file.")]) -> None:
    """Show what is judged in a movement, how to film it and what to mind."""
    from cuebook.movements import find_workspace, load_movement

    printing.print_movement(load_movement(name, workspace=find_workspace(Path.cwd())))


@movements_app.command("check")
def check_file(file: Annotated[Path, typer.Argument(help="A movement file.")]) -> None:
    """Check a movement file and name the line that is wrong."""
    from cuebook.movements import check_movement

    movement = check_movement(file)
    typer.echo(f"{file.name} is valid: {movement.title}, {len(movement.cues)} cues.")


@models_app.command("list")
def list_stored() -> None:
    """List the pose models and whether each is ready."""
    from cuebook.pose.backends import backends

    for name, backend in backends().items():
        typer.echo(f"{name}: {backend.why_missing() or 'ready'}")


@models_app.command()
def add(file: Annotated[Path, typer.Argument(help="The model file, or the package that holds it.")]) -> None:
    """Take a pose model out of a file and keep it for this user."""
    from cuebook.pose.models import add_model

    model = add_model(file)
    typer.echo(f"{model.name} ({model.size_bytes / 1e6:.1f} MB) is kept in {model.path.parent}.")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code: 0 done, 2 the input cannot be used.

    Parameters
    ----------
    arguments : sequence of str or None
        What follows the program's name; by default what was typed.
    """
    typed = list(sys.argv[1:] if arguments is None else arguments)
    try:
        code = app(typed or ["--help"], prog_name="cuebook", standalone_mode=False)
    except CuebookError as error:
        typer.echo(f"cuebook: {error}", err=True)
        return EXIT_INPUT
    except _UsageError as error:  # type: ignore[misc]
        typer.echo(f"cuebook: {error.format_message().rstrip('.')}; see cuebook --help.", err=True)
        return EXIT_INPUT
    return code if isinstance(code, int) else EXIT_DONE


class _Asked:
    """What was typed, with every name looked up before any work starts."""

    def __init__(self, clip: Path, *, movement: str, side: str | None, tempo: str | None, reps: int | None) -> None:
        from cuebook.movements import find_workspace, load_movement, prescribe, read_settings

        self.clip = clip
        self.workspace = find_workspace(clip.parent)
        self.settings, self.margins = read_settings(self.workspace)
        self.movement = load_movement(movement, workspace=self.workspace)
        self.prescription = prescribe(self.movement, tempo=tempo, repetitions=reps, side=side)  # type: ignore[arg-type]

    @contextmanager
    def tracks(self, folder: Path | None) -> Iterator[Path]:
        """Give the folder for landmarks: the workspace's, that of the review to be replaced, or a passing one."""
        from cuebook.report.write import TRACK_FOLDER

        if self.workspace is not None:
            yield self.workspace / "cache"
        elif folder is not None and (folder / TRACK_FOLDER).is_dir():
            yield folder / TRACK_FOLDER
        else:
            with TemporaryDirectory() as passing:
                yield Path(passing)

    def judge(
        self, tracks: Path, *, capture_rate: float | None, mirrored: str | None, progress: Share | None
    ) -> ReviewData:
        """Judge the clip."""
        from cuebook.assess.analyse import review_clip

        return review_clip(
            self.clip,
            movement=self.movement,
            prescription=self.prescription,
            capture_rate_hz=capture_rate,
            settings=replace(self.settings, mirrored=mirrored or "unknown"),
            margins=self.margins,
            cache_dir=tracks,
            progress=progress,
        )


@contextmanager
def _progress() -> Iterator[Callable[[str], Share | None]]:
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


if __name__ == "__main__":
    sys.exit(main())
