"""Names of phases and outcomes for people."""

from __future__ import annotations

PHASE_WORDS = {
    "eccentric": "eccentric (lowering)",
    "long_hold": "hold at the long end",
    "concentric": "concentric (raising)",
    "short_hold": "hold at the short end",
}
