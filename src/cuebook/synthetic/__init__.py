"""A drawn athlete whose joint angles, repetitions and holds are known exactly.

`landmarks` gives the landmarks of a perfect pose model without drawing; `make_clip` draws a clip (extra "render").
Everything follows from a `ClipSpec`: the same spec gives the same clip.
"""

from .bodies import body_names
from .film import landmarks, make_clip, truth_path
from .scenario import Camera, Change, ClipSpec, Look, Picture, spec_from_json
from .truth import Truth, read_truth

__all__ = [
    "Camera",
    "Change",
    "ClipSpec",
    "Look",
    "Picture",
    "Truth",
    "body_names",
    "landmarks",
    "make_clip",
    "read_truth",
    "spec_from_json",
    "truth_path",
]
