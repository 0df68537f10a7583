"""``cuebook movements``: list, show, check."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuebook import printing

movements = typer.Typer(help="The movements that can be reviewed.", rich_markup_mode=None)


@movements.command("list")
def list_all() -> None:
    """Name every movement and where to film it from."""
    from cuebook.movements import find_workspace, list_movements, load_movement

    workspace = find_workspace(Path.cwd())
    found = [load_movement(name, workspace=workspace) for name in list_movements(workspace=workspace)]
    printing.print_columns([("name", "title", "views"), *((m.name, m.title, ", ".join(m.views)) for m in found)])


@movements.command()
def show(name: Annotated[str, typer.Argument(help="Name of a movement, or a movement file.")]) -> None:
    """Show what is judged and how to film it."""
    from cuebook.movements import find_workspace, load_movement

    printing.print_movement(load_movement(name, workspace=find_workspace(Path.cwd())))


@movements.command("check")
def check_file(file: Annotated[Path, typer.Argument(help="A movement file.")]) -> None:
    """Check a movement file, line by line."""
    from cuebook.movements import check_movement

    movement = check_movement(file)
    typer.echo(f"{file.name} is valid: {movement.title}, {len(movement.cues)} cues.")
