"""Where the phone goes, seen from above, as a small inline drawing."""

from __future__ import annotations

from html import escape

_WIDTH, _HEIGHT = 170, 120
_BEARINGS: dict[str, float] = {
    "front": 0.0,
    "oblique-front": 45.0,
    "side": 90.0,
    "oblique-back": 135.0,
    "back": 180.0,
    "head-end": 180.0,
    "foot-end": 0.0,
}
"""View -> bearing of the phone from the direction the athlete faces (lying: towards the feet), degrees."""


def plan_svg(view: str, *, lying: bool) -> str:
    """Return a plan of athlete and phone for a view, empty for a view without a fixed place.

    Parameters
    ----------
    view : str
        Name of the view.
    lying : bool
        Whether the athlete lies on the floor.
    """
    bearing = _BEARINGS.get(view)
    if bearing is None:
        return ""
    x0, y0 = 46.0, _HEIGHT / 2
    # The phone stands to the right of the athlete on the page; the athlete is turned instead.
    turn = -bearing
    body = _lying_body() if lying else _standing_body()
    label = escape(f"plan from above: the phone looks at the athlete, view {view.replace('-', ' ')}")
    phone = (
        f'<path class="aim" d="M{_WIDTH - 24} {y0 - 3:g}L{x0 + 30:g} {y0 - 30:g}M{_WIDTH - 24} {y0 + 3:g}'
        f'L{x0 + 30:g} {y0 + 30:g}"/>'
        f'<rect class="phone" x="{_WIDTH - 24}" y="{y0 - 13:g}" width="7" height="26" rx="2"/>'
    )
    return (
        f'<svg class="plan" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{label}">{phone}'
        f'<g transform="translate({x0:g} {y0:g}) rotate({turn:g})">{body}</g></svg>'
    )


def _standing_body() -> str:
    """Shoulders, head and nose from above, facing right."""
    return (
        '<ellipse class="body" cx="0" cy="0" rx="9" ry="24"/>'
        '<circle class="head" cx="1" cy="0" r="9"/>'
        '<path class="body" d="M9 -4L17 0L9 4Z"/>'
    )


def _lying_body() -> str:
    """Head, trunk and legs from above, feet to the right."""
    return (
        '<rect class="body" x="-20" y="-10" width="30" height="20" rx="8"/>'
        '<circle class="head" cx="-29" cy="0" r="8"/>'
        '<path class="legs" d="M8 -5H38M8 5H38"/>'
    )
