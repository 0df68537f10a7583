"""The tempo page: guide before the set, hand timing after it, in one file for an athlete without Python."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

from cuebook.movements.cautions import STOP_AND_GET_HELP, STOP_AND_TELL_THE_COACH

from .plan import static_text


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    loader = PackageLoader("cuebook.guide", "static")
    environment = Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    return environment.get_template("tempo.html.j2")


def tempo_page(plan: dict[str, Any], *, athlete: str | None = None) -> str:
    """Return the tempo page as HTML text that needs no other file.

    Parameters
    ----------
    plan : dict
        From `cuebook.guide.plan.set_plan`.
    athlete : str or None
        Whom it is for, shown at the top.
    """
    from markupsafe import Markup

    plain = json.dumps(plan, ensure_ascii=False).replace("</", "<\\/")
    return _template().render(
        plan=plan,
        plan_json=Markup(plain),
        athlete=athlete,
        style=Markup(static_text("guide.css")),
        scripts=Markup(static_text("guide.js") + static_text("timing.js")),
        stop_help=STOP_AND_GET_HELP,
        stop_tell=STOP_AND_TELL_THE_COACH,
    )
