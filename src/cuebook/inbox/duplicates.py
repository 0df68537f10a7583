"""Which files are the same clip: the same bytes, or the same pictures sent again smaller."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .pictures import same_pictures
from .receive import Received

SAME_SCENE, SAME_MOTION = 0.95, 0.97
"""Correlations from which two clips are copies (house choice: rendered clips coded again at a third of their
size reach 0.994, two takes in one room with the same count from the same instant at most 0.91)."""

MIRROR_MARGIN = 0.005
"""By how much the pictures must agree better as they are than with one of them mirrored."""

LENGTH_S, LENGTH_SHARE, SHAPE_SHARE = 0.25, 0.02, 0.03
"""Difference of length and of height over width that coding a clip anew may make (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """A file that is not kept: which one is, and in which way they are the same."""

    file: str
    kept: str
    how: str


def find_copies(received: Sequence[Received]) -> dict[str, Copy]:
    """Return the copies by file; the best of each group is not among them.

    Parameters
    ----------
    received : sequence of Received
        All files; those that are no clips are compared by their bytes only.
    """
    heads: list[Received] = []
    groups: dict[str, list[Received]] = {}
    for one in received:
        if one.sha256 and one.size_bytes:
            groups.setdefault(one.sha256, []).append(one)
    clusters: list[list[Received]] = []
    for same in groups.values():
        head = same[0]
        home = next((c for c, known in zip(clusters, heads, strict=True) if _same_clip(head, known)), None)
        if home is None:
            heads.append(head)
            clusters.append(list(same))
        else:
            home.extend(same)
    return {copy.file: copy for cluster in clusters for copy in _copies(cluster)}


def _copies(cluster: Sequence[Received]) -> list[Copy]:
    if len(cluster) < 2:
        return []
    best = max(cluster, key=_worth)
    out = []
    for one in cluster:
        if one is best:
            continue
        how = "the same bytes" if one.sha256 == best.sha256 else "the same pictures, coded again"
        out.append(Copy(file=one.file, kept=best.file, how=how))
    return out


def _worth(one: Received) -> tuple[bool, int, float, bool, int]:
    """Order of preference: whole, more pixels, more bytes a second, with the camera's own date, shorter path."""
    if one.facts is None:
        return (False, 0, 0.0, False, -len(one.file))
    pixels = one.facts.width_px * one.facts.height_px
    rate = round(one.size_bytes / max(one.facts.duration_s, 0.1), 3)
    return (not one.warnings, pixels, rate, one.captured.by == "camera", -len(one.file))


def _same_clip(a: Received, b: Received) -> bool:
    if a.facts is None or b.facts is None or a.looks is None or b.looks is None:
        return False
    longer = max(a.facts.duration_s, b.facts.duration_s)
    if abs(a.facts.duration_s - b.facts.duration_s) > max(LENGTH_S, LENGTH_SHARE * longer):
        return False
    shapes = a.facts.height_px / a.facts.width_px, b.facts.height_px / b.facts.width_px
    if abs(shapes[0] / shapes[1] - 1.0) > SHAPE_SHARE:
        return False
    scene, motion, mirrored = same_pictures(a.looks, b.looks)
    return scene >= SAME_SCENE and motion >= SAME_MOTION and motion > mirrored + MIRROR_MARGIN
