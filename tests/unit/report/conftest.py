"""Reviews of a drawn figure for the tests of the report."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cuebook.model import ReviewData
from tests import report_samples


@pytest.fixture(scope="session")
def make_review() -> Callable[..., ReviewData]:
    """The builder of `report_samples.py`, with the same keywords."""
    return report_samples.make_review


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


@pytest.fixture(scope="session")
def in_turn(review: ReviewData) -> ReviewData:
    """Left and right working in turn."""
    return report_samples.alternating(review)
