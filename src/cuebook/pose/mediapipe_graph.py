"""The pose graph of MediaPipe, started straight from its bindings: raw landmarks, no smoothing, nothing downloaded."""

from __future__ import annotations

import logging
import sys
from contextlib import nullcontext
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import PoseError
from cuebook.model import LANDMARKS

from .quiet import quiet_stderr
from .seen import Seen

if TYPE_CHECKING:
    from mediapipe.framework.calculator_pb2 import CalculatorGraphConfig

log = logging.getLogger(__name__)

FULL, HEAVY = 1, 2
"""Model complexities: the one that comes with the wheel, and the larger one that is added by hand."""

_LANDMARK_GRAPH = Path("modules/pose_landmark/pose_landmark_cpu.binarypb")
_MODELS = (
    Path("modules/pose_detection/pose_detection.tflite"),
    Path("modules/pose_landmark/pose_landmark_full.tflite"),
)
_HEAVY_PATH = "pose_landmark_heavy.tflite"
_OPTION_TYPES = (
    "core.constant_side_packet_calculator",
    "core.gate_calculator",
    "core.split_vector_calculator",
    "image.warp_affine_calculator",
    "tensor.image_to_tensor_calculator",
    "tensor.inference_calculator",
    "tensor.tensors_to_classification_calculator",
    "tensor.tensors_to_detections_calculator",
    "tensor.tensors_to_landmarks_calculator",
    "tensor.tensors_to_segmentation_calculator",
    "tflite.ssd_anchors_calculator",
    "util.detections_to_rects_calculator",
    "util.landmarks_smoothing_calculator",
    "util.local_file_contents_calculator",
    "util.logic_calculator",
    "util.non_max_suppression_calculator",
    "util.rect_transformation_calculator",
    "util.refine_landmarks_from_heatmap_calculator",
    "util.thresholding_calculator",
    "util.visibility_copy_calculator",
    "util.visibility_smoothing_calculator",
)
_RESULT_TYPES = ("detection", "landmark")
_PEOPLE_GRAPH = """
input_stream: "image"
output_stream: "people"
node { calculator: "PoseDetectionCpu" input_stream: "IMAGE:image" output_stream: "DETECTIONS:people" }
"""
_TICK = 33_333
_HIP_KEYPOINT, _CIRCLE_KEYPOINT = 0, 1


def library_version() -> str:
    """Return the version of the installed MediaPipe wheel, without loading it."""
    return version("mediapipe")


def library_folder() -> Path:
    """Return the folder of the installed wheel.

    Raises
    ------
    PoseError
        If it is not installed, or a model file is missing from it.
    """
    spec = find_spec("mediapipe")
    if spec is None or not spec.submodule_search_locations:
        raise PoseError("MediaPipe is not installed: install it with pip install mediapipe==0.10.21.")
    folder = Path(spec.submodule_search_locations[0])
    for file in (_LANDMARK_GRAPH, *_MODELS):
        if not (folder / file).is_file():
            raise PoseError(
                f"MediaPipe's file {file.name} is missing from its folder: install mediapipe 0.10.21 again."
            )
    return folder


class MediapipeSession:
    """One running pose graph that follows one person from frame to frame.

    Parameters
    ----------
    complexity : int
        1 for the full model of the wheel, 2 for the heavy model.
    heavy_model : Path or None
        Where the heavy model file lies; needed for complexity 2.
    alone : bool
        Whether this process does nothing else: then only the bindings of the library are loaded, in a fifth of the
        time. Elsewhere the whole library is loaded, since others may use it.

    Raises
    ------
    PoseError
        If the library or a model file is missing, or the graph does not start.
    """

    def __init__(self, *, complexity: int = FULL, heavy_model: Path | None = None, alone: bool = False) -> None:
        self._folder = library_folder()
        if alone:
            _load_bindings_only(self._folder)
        self._ticks = 0
        self._seen: dict[str, Any] = {}
        self._people: Any = None
        self._settled = False
        with quiet_stderr():
            self._start(complexity, heavy_model)

    def _start(self, complexity: int, heavy_model: Path | None) -> None:
        from mediapipe.python import packet_creator
        from mediapipe.python._framework_bindings import calculator_graph, resource_util

        for name in _RESULT_TYPES:
            import_module(f"mediapipe.framework.formats.{name}_pb2")
        resource_util.set_resource_dir(str(self._folder.parent))
        side = {
            "model_complexity": packet_creator.create_int(complexity),
            "smooth_landmarks": packet_creator.create_bool(False),
            "enable_segmentation": packet_creator.create_bool(False),
            "smooth_segmentation": packet_creator.create_bool(False),
            "use_prev_landmarks": packet_creator.create_bool(True),
        }
        try:
            if heavy_model is None:
                graph = calculator_graph.CalculatorGraph(binary_graph_path=str(self._folder / _LANDMARK_GRAPH))
            else:
                graph = calculator_graph.CalculatorGraph(graph_config=_heavy_graph(self._folder, heavy_model))
            self._graph = graph
            for stream in ("pose_landmarks", "pose_world_landmarks"):
                self._graph.observe_output_stream(stream, self._seen.__setitem__, True)
            self._graph.start_run(side)
            self._push(self._graph, np.zeros((64, 64, 3), np.uint8))
        except (RuntimeError, ValueError, FileNotFoundError) as cause:
            raise PoseError(f"MediaPipe's pose graph does not start: {str(cause).splitlines()[0]}") from cause

    def _push(self, graph: Any, picture: NDArray[np.uint8]) -> None:
        from mediapipe.python import packet_creator
        from mediapipe.python._framework_bindings.image_frame import ImageFormat

        self._ticks += _TICK
        self._seen.clear()
        packet = packet_creator.create_image_frame(data=np.ascontiguousarray(picture), image_format=ImageFormat.SRGB)
        graph.add_packet_to_input_stream(stream="image", packet=packet.at(self._ticks))
        graph.wait_until_idle()

    def landmarks(self, picture: NDArray[np.uint8]) -> Seen | None:
        """Return the landmarks of the person followed, None if nobody is found.

        Parameters
        ----------
        picture : ndarray, shape (H, W, 3), uint8
            RGB, upright.
        """
        from mediapipe.python import packet_getter

        with nullcontext() if self._settled else quiet_stderr():
            self._push(self._graph, picture)
        flat, deep = self._seen.get("pose_landmarks"), self._seen.get("pose_world_landmarks")
        if flat is None or flat.is_empty() or deep is None or deep.is_empty():
            return None
        self._settled = True
        marks = packet_getter.get_proto(flat).landmark
        bodies = packet_getter.get_proto(deep).landmark
        if len(marks) != len(LANDMARKS):
            return None
        return Seen(
            xy=np.array([(m.x, m.y) for m in marks]),
            world_m=np.array([(m.x, m.y, m.z) for m in bodies]),
            score=np.array([m.visibility for m in marks]),
        )

    def people(self, picture: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Return the middle of the hips and a point on the circle about the body, for everybody detected.

        Parameters
        ----------
        picture : ndarray, shape (H, W, 3), uint8
            RGB, upright.

        Returns
        -------
        ndarray, shape (P, 2, 2)
            Per person hip point and circle point, x and y as shares of width and height.
        """
        from mediapipe.python import packet_getter

        if self._people is None:
            with quiet_stderr():
                self._people = self._start_people()
                self._push(self._people, np.zeros((64, 64, 3), np.uint8))
        self._push(self._people, picture)
        found = self._seen.get("people")
        people = [] if found is None or found.is_empty() else packet_getter.get_proto_list(found)
        points = [person.location_data.relative_keypoints for person in people]
        pairs = [[(p[i].x, p[i].y) for i in (_HIP_KEYPOINT, _CIRCLE_KEYPOINT)] for p in points]
        return np.array(pairs, dtype=np.float64).reshape(-1, 2, 2)

    def _start_people(self) -> Any:
        from mediapipe.python._framework_bindings.calculator_graph import CalculatorGraph

        graph = CalculatorGraph(graph_config=_PEOPLE_GRAPH)
        graph.observe_output_stream("people", self._seen.__setitem__, True)
        graph.start_run()
        return graph

    def close(self) -> None:
        """Stop the graphs and free their memory."""
        with quiet_stderr():
            for graph in (self._graph, self._people):
                if graph is not None:
                    graph.close()
        self._people = None


def _load_bindings_only(folder: Path) -> None:
    """Put an empty package in the library's place, so that importing its bindings does not load all the rest."""
    if "mediapipe" not in sys.modules:
        package = ModuleType("mediapipe")
        package.__spec__ = find_spec("mediapipe")
        package.__path__ = [str(folder)]
        sys.modules["mediapipe"] = package


def _heavy_graph(folder: Path, heavy_model: Path) -> CalculatorGraphConfig:
    """Return the expanded landmark graph with the heavy model's own place written into it.

    The options of a calculator survive parsing only if its message type is loaded, hence the imports.
    """
    for name in _OPTION_TYPES:
        import_module(f"mediapipe.calculators.{name}_pb2")
    from mediapipe.calculators.core import constant_side_packet_calculator_pb2 as constants
    from mediapipe.framework.calculator_pb2 import CalculatorGraphConfig
    from mediapipe.python._framework_bindings.validated_graph_config import ValidatedGraphConfig

    validated = ValidatedGraphConfig()
    validated.initialize(binary_graph_path=str(folder / _LANDMARK_GRAPH))
    config = CalculatorGraphConfig()
    config.ParseFromString(validated.binary_config)
    extension = constants.ConstantSidePacketCalculatorOptions.ext
    for node in config.node:
        if node.calculator == "ConstantSidePacketCalculator":
            for packet in node.options.Extensions[extension].packet:
                if packet.string_value.endswith(_HEAVY_PATH):
                    packet.string_value = str(heavy_model)
                    return config
    raise PoseError("MediaPipe's graph does not name a heavy model: install mediapipe 0.10.21.")
