"""Quality of a clip in words, each with its figure and limit: what container and pictures alone show."""

from __future__ import annotations

from cuebook.model import Movement

from .assign import Belongs
from .entries import Facts, Finding
from .pictures import Looks

BLACK, DARK = 0.08, 0.18
"""Mean brightness, 0 to 1: below the first nothing can be seen, below the second joints are placed less surely."""

WINDOW_SHARE, WINDOW_LIGHT = 0.2, 0.5
"""Share of the picture that is as good as white, in a picture that is darker than this: filmed against a window."""

MOVED, SHAKEN = 0.06, 0.015
"""Shares of the longest side: how far the camera went, and how far it jumps from frame to frame. Of still cameras on
rendered clips the largest reads 0.04 and 0.007."""

TOO_SHORT_S, ONE_OR_TWO_S = 2.0, 5.0
"""Below the first no repetition fits, below the second hardly more than one."""

LONG_S = 120.0
SMALL_PX = 320
"""Shorter side of the picture below which a clip has passed through a messenger that makes it small."""


def findings_of_pictures(facts: Facts, looks: Looks, warnings: tuple[str, ...]) -> list[Finding]:
    """Return what container and pictures show.

    Parameters
    ----------
    facts, looks : Facts, Looks
        Of the clip.
    warnings : tuple of str
        What was found while opening it.
    """
    out = [*_light(looks), *_camera(looks), *_length(facts)]
    for sentence in warnings:
        if "cut off" in sentence:
            out.append(_finding("damaged", "file_damaged", facts.duration_s, None, "s", "part", sentence))
    if min(facts.width_px, facts.height_px) < SMALL_PX:
        side = min(facts.width_px, facts.height_px)
        out.append(
            _finding(
                "small picture",
                None,
                side,
                SMALL_PX,
                "px",
                "note",
                f"The picture is only {side} pixels on its short side: ask for the file as filmed.",
            )
        )
    return out


def findings_of_statements(facts: Facts, belongs: Belongs, movement: Movement | None) -> list[Finding]:
    """Return what is still unknown although only a person can say it: capture rate and side.

    Parameters
    ----------
    facts : Facts
        Of the clip.
    belongs : Belongs
        What people said.
    movement : Movement or None
        None while it is not known.
    """
    out = []
    if facts.slow_motion:
        rate = facts.capture_rate_hz or 0.0
        out.append(
            _finding(
                "slow motion",
                None,
                rate / facts.rate_hz,
                1.5,
                "1",
                "note",
                f"Filmed at {rate:g} and stored at {facts.rate_hz:g} frames a second, as the camera "
                "wrote down: times are put right.",
            )
        )
    if movement is not None and movement.sides != "both" and not belongs.mirrored:
        out.append(
            _finding(
                "side unknown",
                "side_unknown",
                None,
                None,
                "1",
                "part",
                "Nothing proves which side is which: the selfie camera may have mirrored it.",
            )
        )
    return out


def _light(looks: Looks) -> list[Finding]:
    light = looks.light
    if light < BLACK:
        return [
            _finding(
                "too dark",
                "too_dark",
                light,
                BLACK,
                "1",
                "blocks",
                "The picture is nearly black, so nobody can be seen in it.",
            )
        ]
    if looks.bright_share > WINDOW_SHARE and light < WINDOW_LIGHT:
        return [
            _finding(
                "against the light",
                "too_dark",
                looks.bright_share,
                WINDOW_SHARE,
                "1",
                "part",
                "Much of the picture is white beside a dark rest: it was filmed against a window.",
            )
        ]
    if light < DARK:
        return [
            _finding(
                "too dark",
                "too_dark",
                light,
                DARK,
                "1",
                "part",
                "The picture is dark, so joints are placed less surely.",
            )
        ]
    return []


def _camera(looks: Looks) -> list[Finding]:
    out = []
    if looks.moved_share is not None and looks.moved_share > MOVED:
        out.append(
            _finding(
                "moved camera",
                "moved_camera",
                looks.moved_share,
                MOVED,
                "1",
                "part",
                f"The camera moved by {looks.moved_share:.0%} of the picture, so angles to the vertical are off.",
            )
        )
    if looks.shake_share is not None and looks.shake_share > SHAKEN:
        out.append(
            _finding(
                "shaky",
                "moved_camera",
                looks.shake_share,
                SHAKEN,
                "1",
                "part",
                f"The picture jumps by {looks.shake_share:.1%} from frame to frame: the phone was held in a hand.",
            )
        )
    return out


def _length(facts: Facts) -> list[Finding]:
    length_s = facts.duration_s
    if length_s < TOO_SHORT_S:
        return [too_short(length_s)]
    if length_s < ONE_OR_TWO_S:
        return [
            _finding(
                "too short",
                "too_short",
                length_s,
                ONE_OR_TWO_S,
                "s",
                "part",
                f"The clip lasts {length_s:.1f} s: hardly more than one repetition fits in.",
            )
        ]
    if length_s > LONG_S:
        return [
            _finding(
                "long",
                None,
                length_s,
                LONG_S,
                "s",
                "note",
                f"The clip lasts {length_s / 60:.1f} minutes: it may hold more than one set.",
            )
        ]
    return []


def too_short(length_s: float) -> Finding:
    """Return the finding for a clip into which no repetition fits."""
    return _finding(
        "too short",
        "too_short",
        length_s,
        TOO_SHORT_S,
        "s",
        "blocks",
        f"The clip lasts only {length_s:.1f} s, so no repetition fits in.",
    )


def _finding(
    word: str, reason: str | None, value: float | None, limit: float | None, unit: str, weight: str, sentence: str
) -> Finding:
    return Finding(
        word=word,
        reason=reason,
        value=None if value is None else round(float(value), 4),
        limit=limit,
        unit=unit,
        weight=weight,
        sentence=sentence,
    )
