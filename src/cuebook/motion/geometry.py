"""Angles from points: signed in the picture, unsigned and signed in space."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def bend_deg(proximal: ArrayLike, vertex: ArrayLike, distal: ArrayLike) -> Array:
    """Return how far the distal segment turns away from the line of the proximal one, in the picture.

    The signed form does not fold at the straight joint, as an inverse cosine would.

    Parameters
    ----------
    proximal, vertex, distal : array_like, shape (..., 2)
        Points in picture coordinates, x right, y down.

    Returns
    -------
    ndarray, shape (...)
        Degrees in (-180, 180], 0 = straight, positive = clockwise on the screen.

    References
    ----------
    Winter, D. A. (2009). Biomechanics and Motor Control of Human Movement, 4th ed., chapter 3 (joint angle as a
    difference of segment angles).
    """
    p, v, d = (np.asarray(x, float) for x in (proximal, vertex, distal))
    near, far = v - p, d - v
    cross = near[..., 0] * far[..., 1] - near[..., 1] * far[..., 0]
    return np.degrees(np.arctan2(cross, (near * far).sum(-1)))


def included_deg(a: ArrayLike, vertex: ArrayLike, c: ArrayLike) -> Array:
    """Return the angle at `vertex` between the directions to `a` and to `c`, 0 to 180 degrees.

    Parameters
    ----------
    a, vertex, c : array_like, shape (..., 2) or (..., 3)
        Points in any one unit.

    Returns
    -------
    ndarray, shape (...)
        Degrees; computed by the arc tangent of cross and dot product, which stays exact near 0 and 180.
    """
    first = np.asarray(a, float) - np.asarray(vertex, float)
    second = np.asarray(c, float) - np.asarray(vertex, float)
    dot = (first * second).sum(-1)
    squared = (first**2).sum(-1) * (second**2).sum(-1) - dot**2
    return np.degrees(np.arctan2(np.sqrt(np.maximum(squared, 0.0)), dot))


def flexion_deg(proximal: ArrayLike, vertex: ArrayLike, distal: ArrayLike) -> Array:
    """Return 180 degrees less the included angle: flexion without a sign, 0 = straight.

    Parameters
    ----------
    proximal, vertex, distal : array_like, shape (..., 2) or (..., 3)
        Points in any one unit.

    Returns
    -------
    ndarray, shape (...)
        Degrees, 0 to 180.
    """
    return 180.0 - included_deg(proximal, vertex, distal)


def inclination_deg(lower: ArrayLike, upper: ArrayLike) -> Array:
    """Return the angle of a segment against the picture's vertical.

    Parameters
    ----------
    lower, upper : array_like, shape (..., 2)
        Ends of the segment in picture coordinates, x right, y down.

    Returns
    -------
    ndarray, shape (...)
        Degrees in (-180, 180], 0 = upright, positive = leaning towards the right of the picture.
    """
    span = np.asarray(upper, float) - np.asarray(lower, float)
    return np.degrees(np.arctan2(span[..., 0], -span[..., 1]))


def unit(vectors: ArrayLike) -> Array:
    """Return vectors of length 1, NaN where the length is zero."""
    v = np.asarray(vectors, float)
    with np.errstate(invalid="ignore", divide="ignore"):
        return v / np.linalg.norm(v, axis=-1, keepdims=True)


def frame_from(left: ArrayLike, right: ArrayLike, low: ArrayLike, high: ArrayLike) -> Array:
    """Return a body frame (forward, up, right) from a left-right line and a long axis.

    Parameters
    ----------
    left, right : array_like, shape (..., 3)
        Ends of the line across the body.
    low, high : array_like, shape (..., 3)
        Ends of the long axis; its part along the line across is removed.

    Returns
    -------
    ndarray, shape (..., 3, 3)
        Columns X forward, Y up, Z to the athlete's right. The points must be given in a right-handed system.

    References
    ----------
    Wu, G. et al. (2005). ISB recommendation, part II. J Biomech 38:981-992 (axes: X forward, Y up, Z right).
    """
    z = unit(np.asarray(right, float) - np.asarray(left, float))
    long = np.asarray(high, float) - np.asarray(low, float)
    y = unit(long - (long * z).sum(-1, keepdims=True) * z)
    x = np.cross(y, z)
    return np.stack([x, y, z], axis=-1)


def zxy_deg(rotation: ArrayLike) -> tuple[Array, Array, Array]:
    """Split rotation matrices into angles about Z, then the turned X, then the twice turned Y.

    Parameters
    ----------
    rotation : array_like, shape (..., 3, 3)
        ``Rz(a) @ Rx(b) @ Ry(g)``.

    Returns
    -------
    a, b, g : ndarray, shape (...)
        Degrees: flexion-extension, lateral bend, axial rotation.

    References
    ----------
    Grood, E. S. & Suntay, W. J. (1983). J Biomech Eng 105:136-144 (joint coordinate system).
    """
    r = np.asarray(rotation, float)
    b = np.arcsin(np.clip(r[..., 2, 1], -1.0, 1.0))
    a = np.arctan2(-r[..., 0, 1], r[..., 1, 1])
    g = np.arctan2(-r[..., 2, 0], r[..., 2, 2])
    return np.degrees(a), np.degrees(b), np.degrees(g)


def angle_sigma_deg(near_length: ArrayLike, far_length: ArrayLike, included: ArrayLike, sigma: ArrayLike) -> Array:
    """Return the standard uncertainty of an angle from three points with independent noise.

    Parameters
    ----------
    near_length, far_length : array_like
        Lengths of both segments.
    included : array_like
        Angle at the vertex, degrees.
    sigma : array_like
        Standard uncertainty of each coordinate, same unit as the lengths.

    Returns
    -------
    ndarray
        Degrees.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.2, first order: u^2 = s^2 (2/a^2 + 2/c^2 - 2 cos(angle)/(a c)).
    """
    a, c, s = (np.asarray(x, float) for x in (near_length, far_length, sigma))
    with np.errstate(invalid="ignore", divide="ignore"):
        squared = 2.0 / a**2 + 2.0 / c**2 - 2.0 * np.cos(np.radians(included)) / (a * c)
        return np.degrees(s * np.sqrt(np.maximum(squared, 0.0)))
