"""``cuebook check`` and ``cuebook models``: what is installed on this machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import EXIT_INPUT

models = typer.Typer(help="Pose models kept on this machine.", rich_markup_mode=None)


def check() -> None:
    """Look over this installation, part by part."""
    from cuebook.check import check_installation

    ready = True
    for finding in check_installation():
        ready = ready and (finding.fine or finding.optional)
        mark = "fine" if finding.fine else "left out" if finding.optional else "MISSING"
        typer.echo(f"{mark:>8}  {finding.sentence}")
    if not ready:
        raise typer.Exit(EXIT_INPUT)


@models.command("list")
def list_stored() -> None:
    """List the pose models and which are ready."""
    from cuebook.pose.backends import backends

    for name, backend in backends().items():
        typer.echo(f"{name}: {backend.why_missing() or 'ready'}")


@models.command()
def add(file: Annotated[Path, typer.Argument(help="The model file, or the package that holds it.")]) -> None:
    """Keep a pose model from a file for this user."""
    from cuebook.pose.models import add_model

    model = add_model(file)
    typer.echo(f"{model.name} ({model.size_bytes / 1e6:.1f} MB) is kept in {model.path.parent}.")
