"""Draws a performance, frame by frame, off screen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cuebook.errors import MissingExtra

from .camera import View
from .clothes import Surface, dress
from .figures.split import box_top_m
from .perform import Performance
from .room import ROOMS, floor_texture
from .scenario import ClipSpec
from .skin import Skin

_SHADOW_M, _SHADOW_CELLS = 3.6, 96


def frames(spec: ClipSpec, performance: Performance, view: View) -> Iterator[NDArray[np.uint8]]:
    """Yield the pictures of a clip, (height, width, 3) each, upright, red green blue.

    Raises
    ------
    MissingExtra
        If pyvista is not installed.
    """
    try:
        import pyvista
    except ImportError as error:
        raise MissingExtra("render", "Drawing clips") from error
    with pyvista.vtk_verbosity("off"):  # without a display the library warns before it finds the off-screen way
        stage = _Stage(pyvista, spec, performance, view)
    sensor = _Sensor(spec)
    try:
        for i in range(len(performance.times_s)):
            yield sensor.expose(stage.draw(i))
    finally:
        stage.close()


def _dim(colour: tuple[float, float, float], spec: ClipSpec) -> tuple[float, ...]:
    """Return a colour of the room in the light of the clip."""
    return tuple(min(1.0, 0.86 * part * spec.look.light) for part in colour)


class _Sensor:
    """Light, noise and a slight blur, as a phone adds them."""

    def __init__(self, spec: ClipSpec) -> None:
        self._random = np.random.default_rng(spec.seed + 5)
        self._look = spec.look
        size = (spec.picture.height_px + 64, spec.picture.width_px + 64, 3)
        noise = self._random.normal(0.0, 1.0, size)
        self._noise = np.round(noise * spec.look.noise).astype(np.int16)
        self._mirrored = spec.picture.mirrored

    def expose(self, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
        import cv2

        if self._mirrored:
            picture = picture[:, ::-1]
        height, width = picture.shape[:2]
        soft = cv2.GaussianBlur(np.ascontiguousarray(picture), (3, 3), 0.6)
        if self._look.noise <= 0:
            return soft
        y, x = self._random.integers(0, 64, 2)
        noisy = cv2.add(soft.astype(np.int16), self._noise[y : y + height, x : x + width])
        return np.clip(noisy, 0, 255).astype(np.uint8)


class _Stage:
    """The scene of one clip: body, room, lights, camera."""

    def __init__(self, pyvista: Any, spec: ClipSpec, performance: Performance, view: View) -> None:
        self._pv = pyvista
        self._performance, self._view = performance, view
        surface = dress(performance.body, spec.look)
        self._skin = Skin(performance.body, surface)
        width, height = view.size_px
        self._plotter = pyvista.Plotter(off_screen=True, window_size=(width, height), lighting="none")
        self._plotter.render_window.SetMultiSamples(0)
        self._plotter.renderer.SetUseOIT(False)
        self._mesh = self._body(surface)
        self._room(spec)
        self._lights(spec)
        self._camera(spec)
        self._plotter.show(auto_close=False)
        self._buffer = pyvista._vtk.vtkUnsignedCharArray()

    def _body(self, surface: Surface) -> Any:
        pv = self._pv
        faces = np.column_stack([np.full(len(surface.faces), 3), surface.faces]).ravel()
        mesh = pv.PolyData(surface.vertices_m.astype(np.float32), faces)
        mesh.point_data["Normals"] = surface.normals.astype(np.float32)
        mesh.point_data.active_normals_name = "Normals"
        mesh.point_data["colour"] = np.round(255 * surface.colours).astype(np.uint8)
        self._plotter.add_mesh(
            mesh,
            scalars="colour",
            rgb=True,
            smooth_shading=False,
            ambient=0.30,
            diffuse=0.75,
            specular=0.08,
            specular_power=12.0,
            interpolation="Phong",
        )
        return mesh

    def _room(self, spec: ClipSpec) -> None:
        pv, plotter = self._pv, self._plotter
        room = ROOMS[spec.look.room]
        away = self._view.target_m - self._view.eye_m
        heading = np.degrees(np.arctan2(away[1], away[0]))
        centre = np.array([self._view.target_m[0], self._view.target_m[1], 0.0])
        floor = pv.Plane(center=(0, 0, 0), i_size=12.0, j_size=12.0).rotate_z(heading).translate(centre)
        texture = pv.Texture(floor_texture(spec.look.room, spec.seed, light=spec.look.light))
        texture.interpolate = True
        plotter.add_mesh(floor, texture=texture, lighting=False)
        wall = pv.Plane(center=(2.3, 0, 2.5), direction=(-1, 0, 0), i_size=5.0, j_size=12.0)
        plotter.add_mesh(wall.rotate_z(heading).translate(centre), color=_dim(room.wall, spec), lighting=False)
        board = pv.Box(bounds=(2.25, 2.3, -6, 6, 0.0, 0.10)).rotate_z(heading).translate(centre)
        plotter.add_mesh(board, color=_dim(room.board, spec), lighting=False)
        side = 1.0 if spec.seed % 3 else -1.0
        shelf = pv.Box(bounds=(1.9, 2.28, side * 1.25 - 0.3, side * 1.25 + 0.3, 0.0, 0.85))
        plotter.add_mesh(shelf.rotate_z(heading).translate(centre), color=room.shelf, ambient=0.35, diffuse=0.65)
        self._props(spec)
        self._shadow(centre)

    def _props(self, spec: ClipSpec) -> None:
        if spec.movement.startswith("rear-foot-elevated"):
            rig = self._performance.body.rig
            leg = rig.length_m("left_thigh", "left_shank") + rig.length_m("left_shank", "left_foot")
            y = 0.1 * (-1.0 if spec.side == "left" else 1.0)
            box = self._pv.Box(
                bounds=(-0.62 * leg - 0.17, -0.62 * leg + 0.16, y - 0.24, y + 0.24, 0.0, box_top_m(rig) - 0.005)
            )
            self._plotter.add_mesh(box, color=(0.45, 0.36, 0.27), ambient=0.3, diffuse=0.7)
        if spec.look.room == "mat":
            joints = self._performance.joints_m[self._performance.in_set].reshape(-1, 3)
            low, high = joints.min(0)[:2], joints.max(0)[:2]
            middle, half = 0.5 * (low + high), np.maximum(0.5 * (high - low) + 0.12, 0.33)
            mat = self._pv.Box(
                bounds=(
                    middle[0] - half[0],
                    middle[0] + half[0],
                    middle[1] - half[1],
                    middle[1] + half[1],
                    -0.01,
                    0.006,
                )
            )
            self._plotter.add_mesh(mat, color=(0.26, 0.36, 0.42), ambient=0.35, diffuse=0.6)

    def _shadow(self, centre: NDArray[np.float64]) -> None:
        pv = self._pv
        self._shadow_corner = centre[:2] - 0.5 * _SHADOW_M
        plane = pv.Plane(center=(centre[0], centre[1], 0.012), i_size=_SHADOW_M, j_size=_SHADOW_M)
        self._shade = np.zeros((_SHADOW_CELLS, _SHADOW_CELLS, 4), dtype=np.uint8)
        self._shade_texture = pv.Texture(self._shade)
        self._shade_texture.interpolate = True
        self._plotter.add_mesh(plane, texture=self._shade_texture, lighting=False)

    def _lights(self, spec: ClipSpec) -> None:
        pv, view = self._pv, self._view
        strength = spec.look.light
        right, down, ahead = view.axes
        for side, up, back, power in ((-2.2, 3.2, 2.0, 0.62), (2.6, 2.6, 1.5, 0.34), (0.4, 3.5, -1.2, 0.22)):
            place = view.target_m + side * right - up * down - back * ahead
            light = pv.Light(
                position=place, focal_point=view.target_m, color=(1.0, 0.98, 0.95), intensity=power * strength
            )
            self._plotter.add_light(light)
        for actor in self._plotter.actors.values():
            if not actor.GetProperty().GetLighting():
                continue
            actor.GetProperty().SetAmbient(actor.GetProperty().GetAmbient() * strength)

    def _camera(self, spec: ClipSpec) -> None:
        view, camera = self._view, self._plotter.camera
        camera.SetPosition(*view.eye_m)
        camera.SetFocalPoint(*(view.eye_m + view.axes[2]))
        camera.SetViewUp(*-view.axes[1])
        camera.SetViewAngle(spec.camera.fov_deg)
        self._plotter.renderer.SetBackground(0.5 * spec.look.light, 0.5 * spec.look.light, 0.5 * spec.look.light)

    def draw(self, i: int) -> NDArray[np.uint8]:
        """Draw frame `i`, not yet mirrored."""
        vertices, normals = self._skin.place(self._performance.poses.rotations[i], self._performance.joints_m[i])
        self._mesh.points[:] = vertices
        self._mesh.point_data["Normals"][:] = normals
        self._mesh.GetPoints().Modified()
        self._mesh.GetPointData().GetNormals().Modified()
        self._mesh.Modified()
        self._cast(vertices)
        width, height = self._view.size_px
        dx, dy = self._view.sway_px[i]
        self._plotter.camera.SetWindowCenter(-2.0 * dx / width, 2.0 * dy / height)
        self._plotter.renderer.ResetCameraClippingRange()
        self._plotter.render_window.Render()
        self._plotter.render_window.GetPixelData(0, 0, width - 1, height - 1, 0, self._buffer, 0)
        return self._pv.convert_array(self._buffer).reshape(height, width, 3)[::-1]

    def _cast(self, vertices: NDArray[np.float64]) -> None:
        """Darken the floor under what is near it."""
        import cv2

        low = vertices[::2][vertices[::2, 2] < 0.9]
        cells = (low[:, :2] - self._shadow_corner) * (_SHADOW_CELLS / _SHADOW_M)
        edges = np.arange(_SHADOW_CELLS + 1)
        weight = np.exp(-np.maximum(low[:, 2], 0.0) / 0.16)
        amount = np.histogram2d(cells[:, 1], cells[:, 0], bins=(edges, edges), weights=weight)[0]
        soft = cv2.GaussianBlur(np.minimum(amount, 6.0), (0, 0), 1.5)
        self._shade[..., 3] = np.clip(24.0 * soft, 0, 130).astype(np.uint8)[::-1]
        scalars = self._shade_texture.GetInput().GetPointData().GetScalars()
        self._pv.convert_array(scalars)[:] = self._shade[::-1].reshape(-1, 4)
        scalars.Modified()
        self._shade_texture.GetInput().Modified()

    def close(self) -> None:
        """Give the window back."""
        self._plotter.close()
