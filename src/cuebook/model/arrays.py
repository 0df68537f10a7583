"""Checks shared by the types that hold arrays: refuse what is malformed, then seal what is kept."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cuebook.errors import ModelError


def sealed(values: ArrayLike, *, name: str, shape: tuple[int | None, ...], dtype: type = np.float64) -> NDArray:
    """Return a read-only copy of `values` after checking its shape.

    Parameters
    ----------
    values : array_like
        The array to keep.
    name : str
        The field it belongs to, for the message.
    shape : tuple of int or None
        Wanted shape; None accepts any length on that axis.
    dtype : type
        Element type of the copy.

    Raises
    ------
    ModelError
        If the number of axes or a length differs from `shape`.
    """
    array = np.array(values, dtype=dtype)
    wanted = "(" + ", ".join("any" if n is None else str(n) for n in shape) + ")"
    if array.ndim != len(shape) or any(n is not None and n != m for n, m in zip(shape, array.shape, strict=True)):
        raise ModelError(f"{name} must have the shape {wanted}, but it has {array.shape}.")
    array.setflags(write=False)
    return array


def increasing_times(times_s: ArrayLike, *, name: str = "times_s") -> NDArray[np.float64]:
    """Return sealed time stamps (F,) in seconds after checking that they are finite and increase.

    Raises
    ------
    ModelError
        If a time stamp is not finite or does not follow the one before it.
    """
    times = sealed(times_s, name=name, shape=(None,))
    if not np.isfinite(times).all():
        raise ModelError(f"{name} holds a time stamp that is not a number.")
    wrong = np.flatnonzero(np.diff(times) <= 0)
    if wrong.size:
        i = int(wrong[0]) + 1
        raise ModelError(f"{name} must increase, but frame {i} ({times[i]:.3f} s) follows {times[i - 1]:.3f} s.")
    return times
