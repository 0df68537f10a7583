"""Skin, hair and clothes of a body: which triangles they cover, how they stand off the skin, their colours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .bodies import Body
from .scenario import Look
from .skeleton import INDEX

COLOURS: dict[str, tuple[float, float, float]] = {
    "light": (0.87, 0.68, 0.57), "tan": (0.74, 0.54, 0.41), "brown_skin": (0.52, 0.35, 0.25),
    "dark": (0.34, 0.23, 0.17), "brown": (0.23, 0.15, 0.1), "black": (0.07, 0.07, 0.08), "blond": (0.7, 0.55, 0.32),
    "grey": (0.55, 0.55, 0.56), "red": (0.62, 0.16, 0.14), "teal": (0.1, 0.46, 0.48), "navy": (0.1, 0.14, 0.28),
    "white": (0.88, 0.88, 0.86), "green": (0.22, 0.42, 0.2), "orange": (0.85, 0.45, 0.14),
    "violet": (0.38, 0.25, 0.52), "charcoal": (0.17, 0.18, 0.2), "sand": (0.72, 0.64, 0.5),
    "sky": (0.45, 0.64, 0.82), "rose": (0.78, 0.44, 0.5), "olive": (0.36, 0.37, 0.2),
}  # fmt: skip
"""Colours by name, red, green, blue from 0 to 1."""

_TRUNK = ("pelvis", "spine1", "spine2", "spine3", "spine4", "spine5", "left_clavicle", "right_clavicle")


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """The drawn surface of a dressed body at rest.

    Attributes
    ----------
    source : ndarray, shape (N,)
        Vertex of the body that carries each drawn vertex.
    vertices_m, normals : ndarray, shape (N, 3)
    faces : ndarray, shape (M, 3)
    colours : ndarray, shape (N, 3)
        0 to 1.
    """

    source: NDArray[np.int64]
    vertices_m: NDArray[np.float64]
    normals: NDArray[np.float64]
    faces: NDArray[np.int64]
    colours: NDArray[np.float64]


def dress(body: Body, look: Look) -> Surface:
    """Put clothes on a body."""
    regions = _regions(body, look)
    layers = []
    covered = np.zeros(len(body.vertices_m), dtype=bool)
    for name, inside in regions.items():
        colour = COLOURS[getattr(look, name)] if name != "socks" else COLOURS["white"]
        thick = np.full(len(body.vertices_m), _THICK_M[name])
        if name == "shorts":
            above = body.vertices_m[:, 2] - body.rig.heads_m[INDEX["left_thigh"], 2]
            thick *= np.clip((0.035 - above) / 0.06, 0.05, 1.0)
        layers.append(_layer(body, inside, np.array(colour), thick_m=thick, rounds=_ROUNDS[name]))
        if name not in ("hair", "socks"):
            covered |= inside
    skin_faces = body.faces[~_shrunk(body, covered)[body.faces].all(1)]
    layers.insert(0, _plain(body, skin_faces, _skin_colours(body, look)))
    return _joined(layers)


_THICK_M = {"shirt": 0.017, "shorts": 0.014, "socks": 0.004, "shoes": 0.010, "hair": 0.013}
_ROUNDS = {"shirt": 10, "shorts": 10, "socks": 1, "shoes": 16, "hair": 3}


def _along(body: Body, start: str, end: str) -> NDArray[np.float64]:
    """Return how far each vertex lies along a bone, 0 at its beginning and 1 at its end, (V,)."""
    a, b = body.rig.heads_m[INDEX[start]], body.rig.heads_m[INDEX[end]]
    return (body.vertices_m - a) @ (b - a) / ((b - a) @ (b - a))


def _regions(body: Body, look: Look) -> dict[str, NDArray[np.bool_]]:
    """Return for every piece of clothing the vertices (V,) it covers."""
    main = body.bone[np.arange(len(body.bone)), body.share.argmax(1)]
    z = body.vertices_m[:, 2]
    hip_z = body.rig.heads_m[INDEX["left_thigh"], 2]
    trunk = np.isin(main, [INDEX[n] for n in _TRUNK])
    neck_low = (main == INDEX["neck"]) & (z < body.rig.heads_m[INDEX["neck"], 2] + 0.005)
    shirt = (trunk & (z > hip_z - 0.01)) | neck_low
    shorts = trunk & (z <= hip_z + 0.07)
    shoes = np.zeros_like(shirt)
    socks = np.zeros_like(shirt)
    for side in ("left", "right"):
        arm = main == INDEX[f"{side}_upper_arm"]
        shirt |= arm & (_along(body, f"{side}_upper_arm", f"{side}_forearm") < look.sleeves)
        thigh, shank = main == INDEX[f"{side}_thigh"], main == INDEX[f"{side}_shank"]
        shorts |= thigh & (_along(body, f"{side}_thigh", f"{side}_shank") < look.legs)
        shirt |= thigh & (z > hip_z - 0.01)
        down = _along(body, f"{side}_shank", f"{side}_foot")
        shorts |= shank & (down < look.legs - 1.0)
        socks |= shank & (down > 0.84)
        shoes |= np.isin(main, [INDEX[f"{side}_foot"], INDEX[f"{side}_toes"]])
        shoes |= shank & (down > 0.95)
    pieces = {"shirt": shirt, "shorts": shorts, "socks": socks, "shoes": shoes}
    return {name: _closed(body, inside) for name, inside in pieces.items()} | {"hair": _hair(body, look, main)}


def _hair(body: Body, look: Look, main: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return the vertices (V,) under the hair: above a line from the brow down to the neck behind the ears."""
    x, y, z = body.vertices_m.T
    eye = body.marks_m[2]
    ear = body.marks_m[7]
    behind = eye[0] - x
    line = eye[2] + 0.062 - (0.95 if look.long_hair else 0.78) * behind
    scalp = np.isin(main, [INDEX["head"], INDEX["neck"]]) & ~body.eye & (z > line)
    on_ear = (np.abs(y) > 0.88 * abs(ear[1])) & (np.abs(z - ear[2]) < 0.035) & (np.abs(x - ear[0]) < 0.03)
    return scalp & ~on_ear


def _closed(body: Body, inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a region (V,) without its small holes: grown by three rings of vertices and shrunk again."""
    grown = inside.copy()
    for _ in range(3):
        grown[np.unique(body.faces[grown[body.faces].any(1)])] = True
    return _shrunk(body, grown, rings=3) | inside


def _shrunk(body: Body, inside: NDArray[np.bool_], *, rings: int = 2) -> NDArray[np.bool_]:
    """Return a region (V,) without its outermost rings of vertices."""
    kept = inside.copy()
    for _ in range(rings):
        edge = body.faces[~kept[body.faces].all(1)]
        kept[np.unique(edge)] = False
    return kept


def _normals(vertices_m: NDArray, faces: NDArray) -> NDArray[np.float64]:
    a, b, c = (vertices_m[faces[:, i]] for i in range(3))
    flat = np.cross(b - a, c - a)
    out = np.zeros_like(vertices_m)
    for i in range(3):
        np.add.at(out, faces[:, i], flat)
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)


def _plain(body: Body, faces: NDArray, colours: NDArray) -> Surface:
    used, local = np.unique(faces, return_inverse=True)
    normals = _normals(body.vertices_m, body.faces)
    return Surface(used, body.vertices_m[used], normals[used], local.reshape(-1, 3), colours[used])


def _layer(body: Body, inside: NDArray[np.bool_], colour: NDArray, *, thick_m: NDArray, rounds: int) -> Surface:
    """Make a layer over the faces inside a region: evened out, pushed outwards, thinner at its border."""
    from scipy.sparse import coo_matrix

    faces = body.faces[inside[body.faces].all(1)]
    used, local = np.unique(faces, return_inverse=True)
    local = local.reshape(-1, 3)
    count = len(used)
    pairs = np.concatenate([local[:, [0, 1]], local[:, [1, 2]], local[:, [2, 0]]])
    both = np.concatenate([pairs, pairs[:, ::-1]])
    near = coo_matrix((np.ones(len(both)), (both[:, 0], both[:, 1])), shape=(count, count)).tocsr()
    once = np.asarray((near == 1).sum(1)).ravel() > 0
    near.data[:] = 1.0
    mean = near.multiply(1.0 / np.maximum(np.asarray(near.sum(1)), 1)).tocsr()
    bare = body.vertices_m[used]
    vertices = bare.copy()
    normals = _normals(vertices, local)
    thick = thick_m[used][:, None]
    depth = np.where(once, 0.35, 1.0)
    for _ in range(3):
        depth = np.where(once, 0.35, mean @ depth)
    vertices = vertices + normals * thick
    for _ in range(rounds):
        vertices = np.where(once[:, None], vertices, 0.5 * vertices + 0.5 * (mean @ vertices))
    vertices = vertices + _normals(vertices, local) * (0.4 * thick * depth[:, None])
    off = ((vertices - bare) * normals).sum(1, keepdims=True)
    vertices = vertices + np.maximum(0.5 * thick - off, 0.0) * normals
    return Surface(used, vertices, _normals(vertices, local), local, np.tile(colour, (count, 1)))


def _skin_colours(body: Body, look: Look) -> NDArray[np.float64]:
    """Return the colour (V, 3) of the bare body: skin, eyes, brows and lips."""
    skin = np.array(COLOURS[look.skin])
    colours = np.tile(skin, (len(body.vertices_m), 1))
    v = body.vertices_m
    mouth = 0.5 * (body.marks_m[9] + body.marks_m[10])
    lips = ((v - mouth) / [0.03, 0.022, 0.009]) ** 2
    colours[lips.sum(1) < 1.0] = skin * [0.86, 0.62, 0.62]
    for mark in (2, 5):
        eye = body.marks_m[mark]
        brow = ((v - eye - [0.0, 0.0, 0.021]) / [0.03, 0.020, 0.005]) ** 2
        colours[(brow.sum(1) < 1.0) & ~body.eye] = 0.8 * np.array(COLOURS[look.hair]) + 0.1 * skin
        iris = np.linalg.norm((v - eye)[:, 1:], axis=1) < 0.0065
        near = np.linalg.norm(v - eye, axis=1) < 0.04
        colours[body.eye & near] = [0.90, 0.90, 0.88]
        colours[body.eye & near & iris] = [0.16, 0.12, 0.10]
    return colours


def _joined(layers: list[Surface]) -> Surface:
    offsets = np.cumsum([0] + [len(s.source) for s in layers[:-1]])
    return Surface(
        source=np.concatenate([s.source for s in layers]),
        vertices_m=np.concatenate([s.vertices_m for s in layers]),
        normals=np.concatenate([s.normals for s in layers]),
        faces=np.concatenate([s.faces + o for s, o in zip(layers, offsets, strict=True)]),
        colours=np.concatenate([s.colours for s in layers]),
    )
