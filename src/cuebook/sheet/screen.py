"""The table of clips as the browser holds it."""

from __future__ import annotations

import anywidget
import traitlets

from cuebook.inbox.entries import REASONS, STATES
from cuebook.movements.cautions import CAUTION
from cuebook.widgets.assets import joined, style


class SheetView(anywidget.AnyWidget):
    """The table of clips; `ContactSheet` answers what is done on it.

    Attributes
    ----------
    rows : list of dict
        From `cuebook.sheet.rows.sheet_rows`.
    decisions : dict
        State, reason and person by short hash of the clip.
    scoring : dict
        ``going``, ``done``, ``total`` and ``words`` of the batch, empty before one.
    results : dict
        What a batch said of each clip, by file.
    following : dict
        How far the person pointed at was followed, in words, by short hash of the clip.
    words : dict
        States, reasons and the caution, as people read them.

    unopened : list of str
        Files that cannot be opened and have no row.
    """

    _esm = joined("sheet.js")
    _css = style("sheet.css")
    rows = traitlets.List().tag(sync=True)
    decisions = traitlets.Dict().tag(sync=True)
    scoring = traitlets.Dict().tag(sync=True)
    results = traitlets.Dict().tag(sync=True)
    unopened = traitlets.List().tag(sync=True)
    following = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict({"states": STATES, "reasons": REASONS, "caution": CAUTION}).tag(sync=True)
