"""Moves the drawn surface with the bones (linear blend skinning)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .bodies import Body
from .clothes import Surface
from .skeleton import SEGMENTS


class Skin:
    """A dressed body that follows postures.

    Parameters
    ----------
    body : Body
    surface : Surface
    """

    def __init__(self, body: Body, surface: Surface) -> None:
        from scipy.sparse import coo_matrix

        self._rig = body.rig
        bone, share = body.bone[surface.source], body.share[surface.source]
        rows = np.repeat(np.arange(len(bone)), bone.shape[1])
        shape = (len(bone), len(SEGMENTS))
        self._weights = coo_matrix((share.ravel(), (rows, bone.ravel())), shape=shape).tocsr()
        self._vertices = surface.vertices_m
        self._normals = surface.normals

    def place(self, rotations: NDArray[np.float64], joints_m: NDArray[np.float64]) -> tuple[NDArray, NDArray]:
        """Return vertices and normals, each (N, 3), for one posture: rotations (24, 3, 3) and joints (24, 3)."""
        turned = rotations @ np.swapaxes(self._rig.canonical, -1, -2)
        shift = joints_m - np.einsum("sij,sj->si", turned, self._rig.heads_m)
        mixed = self._weights @ np.concatenate([turned.reshape(-1, 9), shift], axis=1)
        turns = mixed[:, :9].reshape(-1, 3, 3)
        return (
            np.einsum("nij,nj->ni", turns, self._vertices) + mixed[:, 9:],
            np.einsum("nij,nj->ni", turns, self._normals),
        )


def marks_m(body: Body, rotations: NDArray[np.float64], joints_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the 33 landmarks in the world over time, (T, 33, 3), each carried by one segment."""
    segment = _segment_of_marks()
    local = np.einsum("mji,mj->mi", body.rig.canonical[segment], body.marks_m - body.rig.heads_m[segment])
    return joints_m[:, segment] + np.einsum("tmij,mj->tmi", rotations[:, segment], local)


def _segment_of_marks() -> list[int]:
    from cuebook.model import LANDMARKS

    carriers = {
        "shoulder": "upper_arm",
        "elbow": "forearm",
        "wrist": "hand",
        "pinky": "hand",
        "index": "hand",
        "thumb": "hand",
        "hip": "thigh",
        "knee": "shank",
        "ankle": "foot",
        "heel": "foot",
        "foot_index": "foot",
    }
    out = []
    for name in LANDMARKS:
        side, _, part = name.partition("_")
        out.append(SEGMENTS.index(f"{side}_{carriers[part]}") if part in carriers else SEGMENTS.index("head"))
    return out
