"""Undo a mirror picture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cuebook.model import LANDMARKS, Track

_PARTNER = [LANDMARKS.index(n.replace("left", "#").replace("right", "left").replace("#", "right")) for n in LANDMARKS]


def unmirrored(track: Track) -> Track:
    """Return the track as it would be had the clip not been mirrored.

    Parameters
    ----------
    track : Track
        Landmarks of a mirror picture.

    Returns
    -------
    Track
        Horizontal coordinates turned round and left and right names exchanged.
    """
    xy, world = track.xy_px[:, _PARTNER].copy(), track.world_m[:, _PARTNER].copy()
    xy[..., 0] = track.width_px - 1 - xy[..., 0]
    world[..., 0] = -world[..., 0]
    return replace(track, xy_px=xy, world_m=world, score=np.array(track.score[:, _PARTNER]))
