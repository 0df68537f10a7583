"""From a phone clip of one athlete to an honest verdict on every cue.

::

    clip -> pose -> motion -> repetitions -> measures -> movements -> assess -> report
    file    track   signals   phases         values      cues         verdicts  page, clip, tables

Start with ``cuebook.review("clip.mp4", movement="squat", tempo="3-1-1-0")``.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "Clip": "cuebook.model",
    "ClipError": "cuebook.errors",
    "Cue": "cuebook.model",
    "CuebookError": "cuebook.errors",
    "Doubt": "cuebook.model",
    "Limit": "cuebook.model",
    "Measurement": "cuebook.model",
    "Motion": "cuebook.model",
    "Movement": "cuebook.model",
    "NotMeasurable": "cuebook.model",
    "Prescription": "cuebook.model",
    "Repetition": "cuebook.model",
    "Review": "cuebook.report.view",
    "ReviewData": "cuebook.model",
    "Settings": "cuebook.model",
    "Signal": "cuebook.model",
    "Source": "cuebook.model",
    "Tempo": "cuebook.model",
    "TempoMargins": "cuebook.movements",
    "Track": "cuebook.model",
    "UnknownName": "cuebook.errors",
    "Verdict": "cuebook.model",
    "View": "cuebook.model",
    "contact_sheet": "cuebook.sheet.view",
    "desk": "cuebook.api",
    "list_movements": "cuebook.movements",
    "load_movement": "cuebook.movements",
    "measure_motion": "cuebook.motion",
    "open_desk": "cuebook.record",
    "parse_tempo": "cuebook.movements",
    "read_clip": "cuebook.clip",
    "review": "cuebook.api",
    "score_clips": "cuebook.batch",
    "sort_inbox": "cuebook.inbox",
    "tempo_check": "cuebook.guide.tempo_check",
    "track_pose": "cuebook.pose",
    "write_review": "cuebook.report.write",
}
"""Where each public name lives; it is loaded when it is first asked for."""

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'cuebook' has no attribute '{name}'")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return [*globals(), *__all__]
