"""The description of one drawn clip, and how it is kept as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any

from cuebook.errors import ModelError

from .catalogue import plan_of

FAULTS: tuple[str, ...] = (
    "shallow",
    "dropped_fast",
    "bent_straight_leg",
    "skipped_hold",
    "one_side_short",
    "no_rotation",
    "bent_arms",
    "sag",
    "lean",
)
"""Faults that a repetition can have."""

PROFILES: tuple[str, ...] = ("min_jerk", "constant", "sticking", "bounce")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """How one repetition differs from the others.

    Attributes
    ----------
    number : int
        Which repetition, from 1.
    depth : float or None
        Share of the full movement.
    tempo : tuple of float or None
        Its own eccentric, long hold, concentric, short hold, seconds.
    stop_s : float
        A stop half way in the first moving phase, seconds.
    faults : tuple of str
        Faults of this repetition alone.
    """

    number: int
    depth: float | None = None
    tempo: tuple[float, float, float, float] | None = None
    stop_s: float = 0.0
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Where the camera stands and how it is held.

    Attributes
    ----------
    azimuth_deg : float
        Seen from above, counter-clockwise from the athlete's front: 0 the camera faces the chest (in floor work it
        stands where x points: the head end of a push-up, the foot end of a bridge, the chest side of side lying), 90
        it stands at the athlete's left, 180 behind, -90 at the right.
    height_m : float
        Height of the lens above the floor.
    fill : float
        Share of the picture that the whole movement fills.
    fov_deg : float
        Vertical field of view.
    roll_deg : float
        Turn of the camera about its lens.
    shake_px : float
        Standard deviation of the slow sway of a held phone; a fast tremble of a quarter of it is added.
    """

    azimuth_deg: float = 90.0
    height_m: float = 0.95
    fill: float = 0.82
    fov_deg: float = 48.0
    roll_deg: float = 0.0
    shake_px: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Light, clothes and room.

    Attributes
    ----------
    light : float
        Brightness, 1 a well-lit room.
    noise : float
        Standard deviation of the sensor noise, grey levels.
    shirt, shorts, shoes, skin, hair : str
        Names of colours in `cuebook.synthetic.clothes.COLOURS`.
    room : {"wood", "grey", "mat", "carpet"}
        Floor and wall.
    sleeves, legs : float
        How far shirt and shorts reach along upper arm and thigh (1 to the elbow or knee; above 1 trousers).
    long_hair : bool
        Hair that reaches the neck.
    """

    light: float = 1.0
    noise: float = 2.0
    shirt: str = "teal"
    shorts: str = "navy"
    shoes: str = "white"
    skin: str = "light"
    hair: str = "brown"
    room: str = "wood"
    sleeves: float = 0.5
    legs: float = 0.62
    long_hair: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Size, rate and file form of the clip.

    Attributes
    ----------
    width_px, height_px : int
        Upright size.
    rate_hz : float
        Frames per second.
    variable : bool
        Irregular time stamps, as phones write them in poor light.
    rotation_deg : int
        0, 90, 180 or 270: frames are stored turned and the file says so.
    mirrored : bool
        Left and right swapped, as front cameras do.
    crf : int
        Quality of the encoder; higher is smaller.
    """

    width_px: int = 360
    height_px: int = 640
    rate_hz: float = 30.0
    variable: bool = False
    rotation_deg: int = 0
    mirrored: bool = False
    crf: int = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipSpec:
    """Everything that makes a drawn clip; the same spec always gives the same clip.

    Attributes
    ----------
    name : str
        Stem of the file.
    body : str
        Name of a body.
    movement : str
        One of the ten movements.
    side : {"left", "right", "both", "alternating"}
    reps : int
        Repetitions; alternating clips begin with the left side.
    tempo : tuple of float
        Eccentric, long hold, concentric, short hold, seconds.
    depth : float
        Share of the full movement.
    faults : tuple of str
        Faults of every repetition.
    changes : tuple of Change
        Repetitions that differ.
    profile : str
        How the speed runs within a moving phase.
    tremor_deg, tremor_hz : float
        Root mean square and frequency of a tremble of the control angle.
    lead_in, lead_out : {"stand", "walk", "floor"}
        Waiting in place; walking in or out; getting down to the floor or up from it.
    false_start : bool
        A small movement that is no repetition before the first one.
    half_after : int
        After this repetition a movement of 45 % that is given up; 0 for none.
    raised_hand : bool
        A hand is raised before the set begins.
    arms : str or None
        How the arms are held; None for what is usual.
    camera, look, picture
        See there.
    seed : int
        Of everything random.
    """

    name: str
    body: str
    movement: str
    side: str
    reps: int = 3
    tempo: tuple[float, float, float, float] = (2.0, 0.5, 1.5, 0.5)
    depth: float = 1.0
    faults: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    profile: str = "min_jerk"
    tremor_deg: float = 0.0
    tremor_hz: float = 5.0
    lead_in: str = "stand"
    lead_out: str = "stand"
    false_start: bool = False
    half_after: int = 0
    raised_hand: bool = False
    arms: str | None = None
    camera: Camera = field(default_factory=Camera)
    look: Look = field(default_factory=Look)
    picture: Picture = field(default_factory=Picture)
    seed: int = 0

    def __post_init__(self) -> None:
        sides = plan_of(self.movement).sides
        if self.side not in sides:
            raise ModelError(
                f"clip '{self.name}' asks for side '{self.side}', but {self.movement} has {', '.join(sides)}."
            )
        unknown = [f for f in self.all_faults() if f not in FAULTS]
        if unknown:
            raise ModelError(f"clip '{self.name}' has the unknown fault '{unknown[0]}'; known are {', '.join(FAULTS)}.")
        if self.profile not in PROFILES:
            known = ", ".join(PROFILES)
            raise ModelError(f"clip '{self.name}' has the unknown profile '{self.profile}'; known are {known}.")
        if self.reps < 1 or min(self.tempo) < 0 or self.tempo[0] <= 0 or self.tempo[2] <= 0:
            raise ModelError(f"clip '{self.name}' needs at least one repetition and moving phases longer than 0 s.")

    def all_faults(self) -> tuple[str, ...]:
        """Return the faults of the clip and of its repetitions."""
        return self.faults + tuple(f for change in self.changes for f in change.faults)

    def change(self, number: int) -> Change:
        """Return how a repetition differs, or a change that changes nothing."""
        return next((c for c in self.changes if c.number == number), Change(number=number))

    def with_(self, **values: Any) -> ClipSpec:
        """Return a copy with some values replaced."""
        return replace(self, **values)

    def to_json(self) -> dict[str, Any]:
        """Return the spec as plain values."""
        return asdict(self)


def spec_from_json(data: Mapping[str, Any]) -> ClipSpec:
    """Return the spec that `ClipSpec.to_json` wrote.

    Raises
    ------
    ModelError
        If a key is unknown or a value is refused.
    """
    values = dict(data)
    values["camera"] = _part(Camera, values.get("camera", {}))
    values["look"] = _part(Look, values.get("look", {}))
    values["picture"] = _part(Picture, values.get("picture", {}))
    values["changes"] = tuple(_part(Change, c) for c in values.get("changes", ()))
    return _part(ClipSpec, values)


def _part(kind: type, data: Mapping[str, Any]) -> Any:
    known = {f.name for f in fields(kind)}
    unknown = sorted(set(data) - known)
    if unknown:
        names = ", ".join(sorted(known))
        raise ModelError(f"a clip description has the unknown key '{unknown[0]}'; known are {names}.")
    return kind(**{k: tuple(v) if isinstance(v, list) else v for k, v in data.items()})
