"""The notebook view of the tempo check."""

from __future__ import annotations

import anywidget
import traitlets

from cuebook.movements.cautions import CAUTION

from .plan import static_text


class TempoView(anywidget.AnyWidget):
    """Guide before the set, and the bars of what was measured after it.

    Attributes
    ----------
    plan : dict
        From `cuebook.guide.plan.set_plan`.
    measured : dict
        ``clip``, ``sentence``, ``lines`` and ``repetitions``, each of those with ``seconds`` and ``u`` per phase; empty
        until a clip is measured.
    guided : bool
        Whether guide and camera are shown, or the bars alone.
    measuring : str
        How far a clip that was handed over in the browser is, or why it cannot be measured.
    caution : str
        Shown under everything.
    """

    _esm = static_text("guide.js") + static_text("timing.js") + static_text("notebook.js")
    _css = static_text("guide.css")
    plan = traitlets.Dict().tag(sync=True)
    measured = traitlets.Dict().tag(sync=True)
    guided = traitlets.Bool(True).tag(sync=True)
    measuring = traitlets.Unicode("").tag(sync=True)
    caution = traitlets.Unicode(CAUTION).tag(sync=True)
