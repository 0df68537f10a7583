"""What the forms under the desk share: a column of fields whose keys are its own, sentences that say what happened."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets

from cuebook.errors import CuebookError

from .assets import joined


def shown_path(path: Path) -> str:
    """Return where something lies, as seen from the folder of the notebook where it lies in there."""
    path = path.resolve()
    return str(path.relative_to(Path.cwd())) if path.is_relative_to(Path.cwd()) else str(path)


class FormKeys(anywidget.AnyWidget):
    """Nothing to see: keeps the notebook's own shortcuts out of the form around it."""

    _esm = joined("form.js")


class Form(ipywidgets.VBox):
    """A form in a notebook.

    Attributes
    ----------
    said : ipywidgets.HTML
        The last sentence of the form; a subclass places it among its fields.
    """

    def __init__(self, fields: Sequence[ipywidgets.Widget], *, said: ipywidgets.HTML) -> None:
        self.said = said
        super().__init__([*fields, FormKeys()])
        self.add_class("cb-form")

    def _safely(self, act: Callable[[], Any]) -> None:
        """Do something and show a refusal as a sentence: a notebook would swallow it."""
        try:
            act()
        except CuebookError as error:
            self._say(str(error))

    def _say(self, sentence: str) -> None:
        self.said.value = f"<b role='status'>{escape(sentence)}</b>"
