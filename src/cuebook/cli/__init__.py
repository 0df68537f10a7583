"""The command line: it parses arguments, calls the package and prints; nothing is computed here.

One file per group of commands; a new one is added to `_GROUPS` or `_COMMANDS`.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Annotated

import typer

from cuebook.errors import CuebookError

from .batch_command import batch
from .inbox_command import inbox
from .machine_command import check, models
from .movements_command import movements
from .options import EXIT_DONE, EXIT_INPUT
from .review_command import review
from .tempo_command import tempo

_UsageError = typer.BadParameter.__base__

_COMMANDS: tuple[Callable[..., None], ...] = (review, tempo, batch, inbox, check)
_GROUPS: dict[str, typer.Typer] = {"movements": movements, "models": models}


def _version(wanted: bool) -> None:
    if wanted:
        import cuebook

        typer.echo(f"cuebook {cuebook.__version__}")
        raise typer.Exit


app = typer.Typer(
    help="From a phone clip of one athlete to joint angles, repetitions, tempo and honest verdicts on coaching cues.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def start(
    version: Annotated[
        bool, typer.Option("--version", help="Say which version this is, and leave.", is_eager=True, callback=_version)
    ] = False,
) -> None:
    """Take what is said before a command."""


for _command in _COMMANDS:
    app.command()(_command)
for _name, _group in _GROUPS.items():
    app.add_typer(_group, name=_name)


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
        command = error.ctx.command_path if error.ctx is not None else "cuebook"
        typer.echo(f"cuebook: {error.format_message().rstrip('.')}; see {command} --help.", err=True)
        return EXIT_INPUT
    return code if isinstance(code, int) else EXIT_DONE
