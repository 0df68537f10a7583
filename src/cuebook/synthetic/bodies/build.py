"""Builds the body file from the open parametric body; needed only when the set of bodies changes.

Run with ``python -m cuebook.synthetic.bodies.build`` where the packages ``anny`` and ``torch`` are installed.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..skeleton import SEGMENTS

PHENOTYPES: dict[str, dict[str, float]] = {
    # name: gender (0 man, 1 woman), age (2/3 young adult, 1 old), muscle, weight, height, proportions
    "alder": {"gender": 0.0, "age": 0.72, "muscle": 0.62, "weight": 0.48, "height": 0.38, "proportions": 0.6},
    "birch": {"gender": 1.0, "age": 0.70, "muscle": 0.55, "weight": 0.45, "height": 0.36, "proportions": 0.6},
    "cedar": {"gender": 0.0, "age": 0.82, "muscle": 0.50, "weight": 0.66, "height": 0.32, "proportions": 0.4},
    "elder": {"gender": 1.0, "age": 0.84, "muscle": 0.45, "weight": 0.62, "height": 0.30, "proportions": 0.4},
    "hazel": {"gender": 1.0, "age": 0.76, "muscle": 0.60, "weight": 0.40, "height": 0.48, "proportions": 0.7},
    "larch": {"gender": 0.0, "age": 0.76, "muscle": 0.70, "weight": 0.55, "height": 0.50, "proportions": 0.5},
    "maple": {"gender": 0.1, "age": 0.74, "muscle": 0.55, "weight": 0.42, "height": 0.44, "proportions": 0.5},
    "olive": {"gender": 0.95, "age": 0.78, "muscle": 0.50, "weight": 0.52, "height": 0.33, "proportions": 0.5},
    "pine": {"gender": 0.0, "age": 0.86, "muscle": 0.48, "weight": 0.58, "height": 0.41, "proportions": 0.45},
    "rowan": {"gender": 1.0, "age": 0.72, "muscle": 0.62, "weight": 0.60, "height": 0.41, "proportions": 0.55},
    "willow": {"gender": 0.05, "age": 0.70, "muscle": 0.66, "weight": 0.50, "height": 0.31, "proportions": 0.65},
    "ash": {"gender": 0.0, "age": 0.74, "muscle": 0.60, "weight": 0.46, "height": 0.42, "proportions": 0.55},
    "beech": {"gender": 1.0, "age": 0.74, "muscle": 0.55, "weight": 0.46, "height": 0.39, "proportions": 0.6},
    "thorn": {"gender": 0.0, "age": 0.84, "muscle": 0.52, "weight": 0.56, "height": 0.36, "proportions": 0.5},
    "yew": {"gender": 1.0, "age": 0.86, "muscle": 0.46, "weight": 0.54, "height": 0.32, "proportions": 0.5},
    "aspen": {"gender": 0.05, "age": 0.73, "muscle": 0.58, "weight": 0.50, "height": 0.45, "proportions": 0.6},
    "linden": {"gender": 1.0, "age": 0.80, "muscle": 0.52, "weight": 0.56, "height": 0.37, "proportions": 0.45},
    "poplar": {"gender": 0.0, "age": 0.79, "muscle": 0.57, "weight": 0.44, "height": 0.47, "proportions": 0.55},
    "sorrel": {"gender": 0.95, "age": 0.71, "muscle": 0.58, "weight": 0.43, "height": 0.34, "proportions": 0.65},
    "walnut": {"gender": 0.0, "age": 0.83, "muscle": 0.54, "weight": 0.63, "height": 0.35, "proportions": 0.5},
    "bramble": {"gender": 1.0, "age": 0.75, "muscle": 0.57, "weight": 0.49, "height": 0.43, "proportions": 0.55},
    "gorse": {"gender": 0.0, "age": 0.81, "muscle": 0.61, "weight": 0.60, "height": 0.39, "proportions": 0.6},
    "juniper": {"gender": 0.95, "age": 0.83, "muscle": 0.49, "weight": 0.47, "height": 0.31, "proportions": 0.5},
    "laurel": {"gender": 0.05, "age": 0.71, "muscle": 0.53, "weight": 0.41, "height": 0.49, "proportions": 0.45},
    "myrtle": {"gender": 1.0, "age": 0.78, "muscle": 0.64, "weight": 0.57, "height": 0.35, "proportions": 0.65},
    "acacia": {"gender": 0.0, "age": 0.77, "muscle": 0.63, "weight": 0.52, "height": 0.46, "proportions": 0.55},
    "hornbeam": {"gender": 1.0, "age": 0.82, "muscle": 0.51, "weight": 0.61, "height": 0.34, "proportions": 0.5},
    "medlar": {"gender": 0.95, "age": 0.73, "muscle": 0.59, "weight": 0.44, "height": 0.41, "proportions": 0.6},
    "quince": {"gender": 0.05, "age": 0.85, "muscle": 0.50, "weight": 0.59, "height": 0.37, "proportions": 0.45},
    "spindle": {"gender": 1.0, "age": 0.70, "muscle": 0.56, "weight": 0.48, "height": 0.30, "proportions": 0.65},
}
"""What makes each body; the names are trees and mean nobody."""

_BONES = {
    "pelvis": "root", "spine1": "spine05", "spine2": "spine04", "spine3": "spine03", "spine4": "spine02",
    "spine5": "spine01", "neck": "neck01", "head": "head", "clavicle": "clavicle", "upper_arm": "upperarm01",
    "forearm": "lowerarm01", "hand": "wrist", "thigh": "upperleg01", "shank": "lowerleg01", "foot": "foot",
    "toes": "toe2-1",
}  # fmt: skip
_LIMB_BONES = {
    "shoulder": "upperarm01", "elbow": "lowerarm01", "wrist": "wrist", "hip": "upperleg01", "knee": "lowerleg01",
    "ankle": "foot", "pinky": "finger5-1", "index": "finger2-1", "thumb": "finger1-2",
}  # fmt: skip
_LEAVES = {"toe1-1": "toes", "toe3-1": "toes", "toe4-1": "toes", "toe5-1": "toes"}


def _bone(segment: str) -> str:
    side, _, part = segment.partition("_")
    return f"{_BONES[part]}.{side[0].upper()}" if side in ("left", "right") else _BONES[segment]


def _segment_of_bones(labels: list[str], parents: list[int]) -> NDArray[np.int64]:
    """Give every bone the segment it belongs to: its own, or that of the nearest parent which is one."""
    own = {_bone(s): i for i, s in enumerate(SEGMENTS)}
    for leaf, segment in _LEAVES.items():
        for side in ("left", "right"):
            own[f"{leaf}.{side[0].upper()}"] = SEGMENTS.index(f"{side}_{segment}")
    found = np.zeros(len(labels), dtype=np.int64)
    for i, label in enumerate(labels):
        found[i] = own[label] if label in own else (found[parents[i]] if parents[i] >= 0 else 0)
    return found


def _to_athlete(points: NDArray) -> NDArray:
    """Turn x left, y back, z up into x forward, y left, z up."""
    return np.stack([-points[..., 1], points[..., 0], points[..., 2]], axis=-1)


def _face_marks(vertices: NDArray, heads: dict[str, NDArray], of_head: NDArray) -> dict[str, NDArray]:
    """Find the eleven face landmarks on the rest mesh, (3,) each."""
    eyes = {"left": heads["eye.L"], "right": heads["eye.R"]}
    level = eyes["left"][2]
    skin = vertices[of_head]
    middle = skin[(np.abs(skin[:, 1]) < 0.02) & (skin[:, 2] < level) & (skin[:, 2] > level - 0.08)]
    nose = middle[np.argmax(middle[:, 0])]
    marks = {"nose": nose}
    for side, sign in (("left", 1.0), ("right", -1.0)):
        eye = eyes[side] + [0.02, 0.0, 0.0]
        marks[f"{side}_eye"] = eye
        marks[f"{side}_eye_inner"] = eye - [0.0, sign * 0.013, 0.0]
        marks[f"{side}_eye_outer"] = eye - [0.006, -sign * 0.013, 0.0]
        band = skin[np.abs(skin[:, 2] - (level - 0.015)) < 0.03]
        marks[f"{side}_ear"] = band[np.argmax(sign * band[:, 1])]
        marks[f"mouth_{side}"] = nose - [0.022, -sign * 0.024, 0.042]
    return marks


def _limb_marks(vertices: NDArray, heads: dict[str, NDArray], of_foot: dict[str, NDArray]) -> dict[str, NDArray]:
    marks = {}
    for side in ("left", "right"):
        s = side[0].upper()
        for mark, bone in _LIMB_BONES.items():
            marks[f"{side}_{mark}"] = heads[f"{bone}.{s}"]
        foot = vertices[of_foot[side]]
        marks[f"{side}_heel"] = foot[np.argmin(foot[:, 0])]
        marks[f"{side}_foot_index"] = foot[np.argmax(foot[:, 0])]
    return marks


def build(target: Path) -> None:
    """Write all bodies of `PHENOTYPES` into one compressed file."""
    import anny
    import torch

    from cuebook.model import LANDMARKS

    model = anny.create_fullbody_model()
    labels = list(model.bone_labels)
    segment_of = _segment_of_bones(labels, list(model.bone_parents))
    index, weight = model.vertex_bone_indices.numpy(), model.vertex_bone_weights.numpy()
    full = np.zeros((len(index), len(SEGMENTS)))
    for column in range(index.shape[1]):
        np.add.at(full, (np.arange(len(index)), segment_of[index[:, column]]), weight[:, column])
    labels_of = index[np.arange(len(index)), weight.argmax(1)]
    faces = model.get_triangular_faces().numpy()
    inner = np.array([labels[i].startswith("tongue") for i in labels_of])
    faces = faces[~inner[faces].any(1)]
    used, faces = np.unique(faces, return_inverse=True)
    faces = faces.reshape(-1, 3)
    full, labels_of = full[used], labels_of[used]
    top = np.argsort(-full, axis=1)[:, :4]
    shares = np.take_along_axis(full, top, 1)
    shares = np.round(255 * shares / shares.sum(1, keepdims=True))
    eye = np.array([labels[i].startswith("eye") for i in labels_of])
    data: dict[str, NDArray] = {
        "faces": faces.astype(np.uint16), "bone": top.astype(np.uint8), "share": shares.astype(np.uint8), "eye": eye,
    }  # fmt: skip
    main = full.argmax(1)
    first: NDArray | None = None
    for name, phenotype in PHENOTYPES.items():
        rest = model(phenotype_kwargs={k: torch.tensor([float(v)]) for k, v in phenotype.items()})
        vertices = _to_athlete(rest["rest_vertices"][0].double().numpy()[used])
        bones = _to_athlete(rest["rest_bone_heads"][0].double().numpy())
        ground = vertices[:, 2].min()
        vertices[:, 2] -= ground
        bones[:, 2] -= ground
        heads = dict(zip(labels, bones, strict=True))
        on_head = (main == SEGMENTS.index("head")) & ~eye
        on_foot = {
            s: np.isin(main, [SEGMENTS.index(f"{s}_foot"), SEGMENTS.index(f"{s}_toes")]) for s in ("left", "right")
        }
        marks = _face_marks(vertices, heads, on_head) | _limb_marks(vertices, heads, on_foot)
        heads["root"] = heads["spine05"]
        tenths_mm = np.round(vertices / 1e-4).astype(np.int16)
        first = tenths_mm if first is None else first
        # from vertex to vertex, and against the first body, the numbers are small and pack to a third
        off = tenths_mm - first if first is not tenths_mm else tenths_mm
        data[f"{name}.steps"] = np.diff(off.T, axis=1, prepend=np.int16(0))
        data[f"{name}.heads"] = np.array([heads[_bone(s)] for s in SEGMENTS], dtype=np.float32)
        data[f"{name}.marks"] = np.array([marks[m] for m in LANDMARKS], dtype=np.float32)
    np.savez_compressed(target, **data)


if __name__ == "__main__":
    build(Path(__file__).with_name("bodies.npz"))
