"""What the ten movements have in common: driver, order of phases, range of the driver, smallest swing."""

from __future__ import annotations

from dataclasses import dataclass

from cuebook.errors import UnknownName


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How one movement runs.

    Attributes
    ----------
    driver : str
        Signal that tells the repetitions, without its side.
    limb : {"working", "other", "both", "none"}
        Whose signal: the working side's, the mean of both, or a signal without a side.
    first : {"eccentric", "concentric"}
        Phase that leaves the start end.
    start_deg, turn_deg : float
        Control angle at depth 0 and at depth 1.
    smallest_deg : float
        Smallest swing of the driver that makes a repetition.
    lying : bool
        Floor work: filmed low and in landscape.
    sides : tuple of str
        Sides that a clip may have.
    """

    driver: str
    limb: str
    first: str
    start_deg: float
    turn_deg: float
    smallest_deg: float
    lying: bool = False
    sides: tuple[str, ...] = ("both",)

    @property
    def moving(self) -> tuple[str, str]:
        """Names of the two moving phases in order."""
        return ("eccentric_s", "concentric_s") if self.first == "eccentric" else ("concentric_s", "eccentric_s")

    @property
    def turn_hold(self) -> str:
        """Name of the hold at the turn."""
        return "long_hold_s" if self.first == "eccentric" else "short_hold_s"

    @property
    def start_hold(self) -> str:
        """Name of the hold at the start end."""
        return "short_hold_s" if self.first == "eccentric" else "long_hold_s"


_ONE = ("left", "right")
_ANY = ("left", "right", "alternating")

PLANS: dict[str, Plan] = {
    "squat": Plan(
        driver="knee_flexion", limb="both", first="eccentric", start_deg=5.0, turn_deg=112.0, smallest_deg=50.0
    ),
    "split-squat": Plan(
        driver="knee_flexion",
        limb="working",
        first="eccentric",
        start_deg=14.0,
        turn_deg=92.0,
        smallest_deg=45.0,
        sides=_ONE,
    ),
    "rear-foot-elevated-split-squat-with-rotation": Plan(
        driver="knee_flexion",
        limb="working",
        first="eccentric",
        start_deg=14.0,
        turn_deg=88.0,
        smallest_deg=40.0,
        sides=_ONE,
    ),
    "lateral-lunge": Plan(
        driver="knee_flexion",
        limb="working",
        first="eccentric",
        start_deg=5.0,
        turn_deg=88.0,
        smallest_deg=40.0,
        sides=_ANY,
    ),
    "standing-knee-raise": Plan(
        driver="hip_flexion",
        limb="working",
        first="concentric",
        start_deg=0.0,
        turn_deg=102.0,
        smallest_deg=45.0,
        sides=_ANY,
    ),
    "push-up": Plan(
        driver="elbow_flexion",
        limb="both",
        first="eccentric",
        start_deg=8.0,
        turn_deg=98.0,
        smallest_deg=50.0,
        lying=True,
    ),
    "push-up-to-inverted-v": Plan(
        driver="elbow_flexion",
        limb="both",
        first="eccentric",
        start_deg=8.0,
        turn_deg=96.0,
        smallest_deg=50.0,
        lying=True,
    ),
    "glute-bridge": Plan(
        driver="hip_flexion",
        limb="both",
        first="concentric",
        start_deg=0.0,
        turn_deg=1.0,
        smallest_deg=25.0,
        lying=True,
    ),
    "side-lying-thoracic-rotation": Plan(
        driver="trunk_rotation",
        limb="none",
        first="concentric",
        start_deg=0.0,
        turn_deg=62.0,
        smallest_deg=30.0,
        lying=True,
        sides=_ONE,
    ),
    "standing-trunk-rotation": Plan(
        driver="trunk_rotation",
        limb="none",
        first="concentric",
        start_deg=0.0,
        turn_deg=33.0,
        smallest_deg=12.0,
        sides=_ANY,
    ),
}


def plan_of(movement: str) -> Plan:
    """Return how a movement runs.

    Raises
    ------
    UnknownName
        If there is no such movement.
    """
    if movement not in PLANS:
        raise UnknownName("movement", movement, PLANS)
    return PLANS[movement]
