"""A phone camera: where it stands, what it frames, and where joints fall in the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .perform import Performance
from .scenario import ClipSpec
from .skeleton import turn, unit


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The camera of one clip.

    Attributes
    ----------
    eye_m, target_m : ndarray, shape (3,)
        Lens, and the point it looks at.
    axes : ndarray, shape (3, 3)
        Rows: right, down, forward in the world.
    focal_px : float
        Focal length in pixels.
    size_px : tuple of int
        Width and height.
    sway_px : ndarray, shape (T, 2)
        Shift of the picture by the hand, x right, y down.
    mirrored : bool
    """

    eye_m: NDArray[np.float64]
    target_m: NDArray[np.float64]
    axes: NDArray[np.float64]
    focal_px: float
    size_px: tuple[int, int]
    sway_px: NDArray[np.float64]
    mirrored: bool

    @property
    def distance_m(self) -> float:
        """Way from the lens to the point it looks at."""
        return float(np.linalg.norm(self.target_m - self.eye_m))

    def in_camera(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points (..., 3) as right, down, forward from the lens, metres."""
        return (points_m - self.eye_m) @ self.axes.T

    def project(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return pixels (T, ..., 2) of points (T, ..., 3); x right, y down, mirrored where the clip is."""
        local = self.in_camera(points_m)
        xy = self.focal_px * local[..., :2] / local[..., 2:]
        shift = self.sway_px.reshape(len(self.sway_px), *([1] * (points_m.ndim - 2)), 2)
        xy = xy + shift + 0.5 * np.array(self.size_px)
        if self.mirrored:
            xy[..., 0] = self.size_px[0] - xy[..., 0]
        return xy


def make_view(spec: ClipSpec, performance: Performance) -> View:
    """Place the camera so that the whole set fills the wanted share of the picture."""
    width, height = spec.picture.width_px, spec.picture.height_px
    focal = 0.5 * height / np.tan(np.radians(0.5 * spec.camera.fov_deg))
    points = _outline(performance)
    azimuth = np.radians(spec.camera.azimuth_deg)
    away = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    target = 0.5 * (points.min(0) + points.max(0))
    distance = 3.0
    for _ in range(25):
        eye = target + distance * away
        eye[2] = spec.camera.height_m
        axes = _axes(target - eye, spec.camera.roll_deg)
        local = (points - eye) @ axes.T
        xy = focal * local[:, :2] / np.maximum(local[:, 2:], 0.2)
        low, high = xy.min(0), xy.max(0)
        need = float(((high - low) / (spec.camera.fill * np.array([width, height]))).max())
        centre = 0.5 * (low + high) * distance / focal
        target = target + centre[0] * axes[0] + centre[1] * axes[1]
        distance *= 1.0 + 0.8 * (need - 1.0)
    return View(
        eye, target, axes, float(focal), (width, height), _sway(spec, performance.times_s), spec.picture.mirrored
    )


def _outline(performance: Performance) -> NDArray[np.float64]:
    """Return points (N, 3) around the body during the set: joints, and the crown of the head."""
    rows = np.flatnonzero(performance.in_set)[::5]
    placed = performance.joints_m[rows]
    rotation = performance.poses.rotations[rows][:, 7]
    crown = placed[:, 7] + rotation @ np.array([0.0, 0.0, 0.16])
    tips = [placed[:, i] + performance.poses.rotations[rows][:, i] @ np.array([0.0, 0.0, -0.17]) for i in (11, 15)]
    toes = [placed[:, i] + performance.poses.rotations[rows][:, i] @ np.array([0.08, 0.0, -0.03]) for i in (19, 23)]
    return np.concatenate([placed.reshape(-1, 3), crown, *tips, *toes])


def _axes(forward: NDArray[np.float64], roll_deg: float) -> NDArray[np.float64]:
    ahead = unit(forward)
    right = unit(np.cross(ahead, [0.0, 0.0, 1.0]))
    down = np.cross(ahead, right)
    return turn("z", roll_deg) @ np.stack([right, down, ahead])


def _sway(spec: ClipSpec, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the shift of a held phone in pixels, (T, 2): slow sway and a fast tremble."""
    if spec.camera.shake_px <= 0:
        return np.zeros((len(times_s), 2))
    random = np.random.default_rng(spec.seed + 11)
    out = np.zeros((len(times_s), 2))
    for low, high, size in ((0.15, 0.9, 1.0), (5.0, 9.0, 0.25)):
        rate = random.uniform(low, high, (4, 2))
        start = random.uniform(0.0, 2.0 * np.pi, (4, 2))
        waves = np.sin(2.0 * np.pi * rate * times_s[:, None, None] + start).sum(1)
        out += spec.camera.shake_px * size * waves / np.sqrt(2.0)
    return out


def camera_yaw_deg(performance: Performance, view: View, *, lying_on_side: bool) -> NDArray[np.float64]:
    """Return from where the camera sees the athlete at each instant, degrees, (T,): 0 front, + the athlete's left.

    Counted in the floor plane from the facing of the pelvis. In floor work the facing is the horizontal direction
    across the hip line: of the head end when prone, of the feet when on the back; lying on the side, of the chest.
    """
    pelvis = performance.poses.rotations[:, 0]
    left = pelvis[:, :, 1]
    facing = pelvis[:, :, 0] if lying_on_side else np.stack([left[:, 1], -left[:, 0], np.zeros(len(left))], axis=-1)
    heading = np.arctan2(facing[:, 1], facing[:, 0])
    way = view.eye_m - performance.joints_m[:, 0]
    yaw = np.degrees(np.arctan2(way[:, 1], way[:, 0]) - heading)
    return (yaw + 180.0) % 360.0 - 180.0
