"""The bodies that are drawn: one shared mesh, one shape per body.

See LICENCE.md beside this file for where they come from.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import UnknownName

from ..skeleton import Rig, make_rig


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """One body in its rest posture.

    Attributes
    ----------
    name : str
    rig : Rig
        Its joints.
    vertices_m : ndarray, shape (V, 3)
        Skin at rest.
    faces : ndarray, shape (N, 3)
        Triangles of the skin.
    bone : ndarray, shape (V, 4)
        Segments that carry each vertex.
    share : ndarray, shape (V, 4)
        How much each of them carries; rows add up to 1.
    eye : ndarray of bool, shape (V,)
        Vertices of the eyeballs.
    marks_m : ndarray, shape (33, 3)
        Landmarks at rest, in the order of `cuebook.model.LANDMARKS`.
    """

    name: str
    rig: Rig
    vertices_m: NDArray[np.float64]
    faces: NDArray[np.int64]
    bone: NDArray[np.int64]
    share: NDArray[np.float64]
    eye: NDArray[np.bool_]
    marks_m: NDArray[np.float64]

    @property
    def height_m(self) -> float:
        """Standing height."""
        return float(self.vertices_m[:, 2].max())


def body_names() -> tuple[str, ...]:
    """Return the names of all bodies."""
    return tuple(sorted(key.removesuffix(".vertices") for key in _data() if key.endswith(".vertices")))


@lru_cache(maxsize=1)
def _data() -> dict[str, NDArray]:
    with files(__package__).joinpath("bodies.npz").open("rb") as file, np.load(file) as stored:
        data = {key: stored[key] for key in stored.files}
    first: NDArray | int = 0
    for key in [key for key in data if key.endswith(".steps")]:
        vertices = first + np.cumsum(data.pop(key), axis=1, dtype=np.int16).T
        first = vertices if isinstance(first, int) else first
        data[f"{key.removesuffix('.steps')}.vertices"] = vertices
    return data


def load_body(name: str) -> Body:
    """Return one body.

    Raises
    ------
    UnknownName
        If there is no body of that name.
    """
    data = _data()
    if f"{name}.vertices" not in data:
        raise UnknownName("body", name, body_names())
    share = data["share"].astype(np.float64)
    return Body(
        name=name,
        rig=make_rig(data[f"{name}.heads"].astype(np.float64)),
        vertices_m=data[f"{name}.vertices"] * 1e-4,
        faces=data["faces"].astype(np.int64),
        bone=data["bone"].astype(np.int64),
        share=share / share.sum(1, keepdims=True),
        eye=data["eye"],
        marks_m=data[f"{name}.marks"].astype(np.float64),
    )
