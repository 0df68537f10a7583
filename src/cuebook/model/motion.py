"""Joint angles over time, the view they were seen from, and the stretches in doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .arrays import increasing_times, sealed

ViewName = Literal["side", "front", "back", "oblique-front", "oblique-back", "head-end", "foot-end", "unknown"]
Side = Literal["left", "right", "both"]
Facing = Literal["left", "right", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """From where the camera looks at the athlete.

    Attributes
    ----------
    name : str
        One of the view names of the output contract.
    facing : {"left", "right", "none"}
        The athlete's side that is towards the camera.
    azimuth_deg : float
        Turn of the athlete away from facing the camera, 0 = front, 90 = the left side towards the camera is seen,
        -90 = the right side, 180 = back.
    off_axis_deg : float
        Distance from the nearest pure view of that name (for oblique: from the middle of its range), degrees.
    uncertainty_deg : float
        Standard uncertainty of `azimuth_deg`.
    lying : bool
        Whether the trunk lies along the floor.
    """

    name: ViewName
    facing: Facing
    azimuth_deg: float
    off_axis_deg: float
    uncertainty_deg: float
    lying: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A stretch in which some landmarks cannot be trusted.

    Attributes
    ----------
    start_s, end_s : float
        First and last frame of the stretch, seconds.
    what : str
        The part of the body, in words.
    reason : str
        Why, in words.
    landmarks : tuple of str
        Canonical names of the landmarks concerned.
    """

    start_s: float
    end_s: float
    what: str
    reason: str
    landmarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Signal:
    """One quantity over time, with its standard uncertainty.

    Attributes
    ----------
    name : str
        For example ``left_knee_flexion``.
    times_s : ndarray, shape (F,)
        Seconds.
    values : ndarray, shape (F,)
        In `unit`; NaN where not measured.
    noise : ndarray, shape (F,)
        Standard uncertainty from landmark noise, independent between repetitions, same unit.
    shared : ndarray, shape (F,)
        Standard uncertainty common to the clip (model bias, view), which averaging does not shrink.
    unit : str
        ``deg`` for angles.
    method : str
        How it was measured, in words: ``image plane``, ``model 3D``, ``shoulder width``.
    why_not : str or None
        Why the signal is not measurable in this clip at all, with None meaning that it is.
    refilm : str or None
        How to film the clip so that it can be measured.
    doubtful : ndarray of bool, shape (F,), or None
        Frames in a doubtful stretch; None means none.
    largest_u : float
        A value less sure than this is not called measured, though it may still tell that something moved.
    """

    name: str
    times_s: NDArray[np.float64]
    values: NDArray[np.float64]
    noise: NDArray[np.float64]
    shared: NDArray[np.float64]
    unit: str
    method: str
    why_not: str | None = None
    refilm: str | None = None
    doubtful: NDArray[np.bool_] | None = None
    largest_u: float = float("inf")

    def __post_init__(self) -> None:
        times = increasing_times(self.times_s)
        object.__setattr__(self, "times_s", times)
        for name in ("values", "noise", "shared"):
            object.__setattr__(self, name, sealed(getattr(self, name), name=f"{self.name} {name}", shape=(len(times),)))

        flags = np.zeros(len(times), bool) if self.doubtful is None else self.doubtful
        object.__setattr__(
            self, "doubtful", sealed(flags, name=f"{self.name} doubtful", shape=(len(times),), dtype=bool)
        )

    @property
    def trusted(self) -> NDArray[np.bool_]:
        """Frames with a value outside every doubtful stretch, shape (F,)."""
        return np.isfinite(self.values) & ~self.doubtful

    @property
    def measured(self) -> NDArray[np.bool_]:
        """Trusted frames whose value is sure enough to be stated, shape (F,)."""
        return self.trusted & (self.sigma <= self.largest_u)

    @property
    def written(self) -> NDArray[np.bool_]:
        """Frames whose value is put down: measured ones, and those in doubt with an uncertainty that says so."""
        return np.isfinite(self.values) & (self.doubtful | (self.sigma <= self.largest_u))

    @property
    def sigma(self) -> NDArray[np.float64]:
        """Combined standard uncertainty per frame, shape (F,)."""
        return np.hypot(self.noise, self.shared)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """All signals of one clip.

    Attributes
    ----------
    times_s : ndarray, shape (F,)
        Seconds from the clip's first frame.
    signals : mapping of str to Signal
        By name.
    view : View
        The view that prevails during the movement.
    doubts : tuple of Doubt
        Stretches whose landmarks cannot be trusted.
    found_fraction : float
        Share of frames in which somebody was found.
    """

    times_s: NDArray[np.float64]
    signals: Mapping[str, Signal]
    view: View
    doubts: tuple[Doubt, ...]
    found_fraction: float
