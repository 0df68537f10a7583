"""Cutting a clip into pieces, analysing one, and noticing other people."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from cuebook.pose import Seen
from cuebook.pose.others import is_other
from cuebook.pose.pieces import PIECE_FRAMES, WARM_UP_FRAMES, Piece, analyse_piece, cut, frame_step

ALONE = np.array([[[0.5, 0.5], [0.5, 0.1]]])


class Session:
    """Sees the number painted into a picture, nobody where it is zero."""

    def __init__(self, people: NDArray[np.float64] = ALONE) -> None:
        self.looked_at: list[int] = []
        self._people = people

    def landmarks(self, picture: NDArray[np.uint8]) -> Seen | None:
        number = int(picture[0, 0, 0])
        self.looked_at.append(number)
        if number == 0:
            return None
        body = np.full((33, 2), 0.5)
        body[0], body[32] = (0.4, 0.1), (0.6, 0.9)
        return Seen(xy=body, world_m=np.full((33, 3), number), score=np.ones(33))

    def people(self, picture: NDArray[np.uint8]) -> NDArray[np.float64]:
        return self._people

    def close(self) -> None:
        pass


def frames(
    long_side_px: int | None = None, start: int = 0, stop: int | None = None, *, step: int = 1
) -> Iterator[tuple[float, NDArray[np.uint8]]]:
    for number in range(start, min(200, 200 if stop is None else stop), step):
        yield number / 30, np.full((80, 40, 3), number, np.uint8)


def piece(start: int, stop: int, *, warm_up: int = 0, step: int = 1) -> Piece:
    return Piece(start=start, stop=stop, warm_up=warm_up, step=step, long_side_px=960, check_every=30)


@pytest.mark.parametrize(
    ("rate", "step"), [(5, 1), (24, 1), (29.97, 1), (50, 1), (59.94, 2), (60, 2), (120, 4), (240, 8)]
)
def test_at_least_about_thirty_frames_a_second_are_analysed(rate: float, step: int) -> None:
    assert frame_step(np.arange(100) / rate) == step
    assert frame_step(np.array([0.0, 0.01])) == 1


@pytest.mark.parametrize("count", [30, 120, 121, 600, 601, 1801])
def test_pieces_cover_the_clip_once_and_do_not_ask_the_machine(count: int) -> None:
    pieces = cut(np.arange(count) / 30, long_side_px=960)
    assert pieces[0].start == 0
    assert pieces[0].warm_up == 0
    assert pieces[-1].stop == count
    assert all(a.stop == b.start for a, b in pairwise(pieces))
    assert all(p.stop - p.start <= PIECE_FRAMES + WARM_UP_FRAMES for p in pieces)
    assert all(p.warm_up == WARM_UP_FRAMES for p in pieces[1:])
    assert len(pieces) == 1 if count <= 120 else len(pieces) % 2 == 0
    work = [p.stop - p.start + p.warm_up for p in pieces]
    assert max(work) - min(work) <= 1


def test_warm_up_frames_are_seen_and_not_kept() -> None:
    session = Session()
    told: list[int] = []
    result = analyse_piece(frames, session, piece(50, 60, warm_up=4), seen=told.append)
    assert session.looked_at == list(range(46, 60))
    assert result.world_m[:, 0, 0].tolist() == list(range(50, 60))
    assert told == list(range(1, 11))
    np.testing.assert_allclose(result.light, np.arange(50, 60) / 255, atol=1e-6)


def test_every_third_frame_and_nobody() -> None:
    session = Session()
    result = analyse_piece(frames, session, piece(0, 5, step=3))
    assert session.looked_at == [0, 3, 6, 9, 12]
    assert np.isnan(result.xy[0]).all()
    assert np.isfinite(result.xy[1:]).all()
    assert result.light[0] == 0


def test_a_clip_that_ends_early_gives_fewer_rows() -> None:
    result = analyse_piece(frames, Session(), piece(190, 220))
    assert len(result.xy) == len(result.light) == len(result.score) == 10


def test_others_are_looked_for_about_once_a_second() -> None:
    two = np.array([*ALONE, [[0.05, 0.5], [0.05, 0.1]]])
    result = analyse_piece(frames, Session(two), piece(31, 130))
    assert (result.looks, result.looks_with_others) == (3, 3)
    assert analyse_piece(frames, Session(), piece(31, 130)).looks_with_others == 0


def test_who_counts_as_somebody_else() -> None:
    shape = (800, 400, 3)
    body = np.full((33, 2), 0.5)
    body[0], body[32] = (0.4, 0.1), (0.6, 0.9)
    beside = np.array([[[0.95, 0.5], [0.95, 0.15]]])
    small = np.array([[[0.95, 0.5], [0.95, 0.4]]])
    assert not is_other(np.empty((0, 2, 2)), body, shape)
    assert not is_other(ALONE, body, shape)
    assert is_other(beside, body, shape)
    assert is_other(np.concatenate([ALONE, beside]), body, shape)
    assert not is_other(small, body, shape)
    assert not is_other(ALONE, None, shape)
    assert is_other(np.concatenate([ALONE, beside]), None, shape)
    assert not is_other(np.concatenate([ALONE, small]), None, shape)
