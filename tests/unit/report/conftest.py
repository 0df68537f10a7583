"""Reviews of a drawn figure for the tests of the report."""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from cuebook.model import ReviewData

SAMPLES = Path(__file__).parents[2] / "report_samples.py"


@pytest.fixture(scope="session")
def make_review() -> Callable[..., ReviewData]:
    """The builder of `report_samples.py`, with the same keywords."""
    spec = spec_from_file_location("report_samples", SAMPLES)
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    sys.modules.setdefault("report_samples", module)
    spec.loader.exec_module(module)
    return module.make_review


@pytest.fixture(scope="session")
def review(make_review: Callable[..., ReviewData]) -> ReviewData:
    """Four squats from the side: depth met, met, near, not met; one cue that needs the front view."""
    return make_review()


@pytest.fixture(scope="session")
def empty(make_review: Callable[..., ReviewData]) -> ReviewData:
    """A clip in which nobody was found."""
    return make_review(found=False)


@pytest.fixture(scope="session")
def doubtful(make_review: Callable[..., ReviewData]) -> ReviewData:
    """A one-sided movement without a tempo, with a stretch in doubt and a warning."""
    return make_review(sides="one", prescribed=False, doubtful=True)
