"""A scrambled Sobol sequence.

The same points as ``scipy.stats.qmc.Sobol`` before scrambling (a test holds that). It stands here
because importing ``scipy.stats`` alone takes as long as the whole answer may.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from riskkit.records import FloatArray, IntArray
from riskkit.tables import load_table

__all__ = ["direction_numbers", "sobol_points"]

_BITS = 30


def direction_numbers(n_columns: int) -> IntArray:
    """Return the direction numbers of the first dimensions.

    Parameters
    ----------
    n_columns : int
        How many dimensions, at most as many as the table has [-].

    Returns
    -------
    (n_columns, 30) array
        Direction numbers, scaled to 30 bits [-].

    Raises
    ------
    ValueError
        Where the table has fewer dimensions.

    References
    ----------
    sobol1967 : the recurrence
    joe_kuo2008 : the first numbers of each dimension
    """
    rows = load_table("sobol").rows
    if n_columns > len(rows):
        raise ValueError(f"the table of direction numbers has {len(rows)} dimensions")
    return np.array([_of_dimension(i) for i in range(n_columns)], np.int64).reshape(-1, _BITS)


@cache  # of a home each column has a sequence of its own, which passes over all before it
def _of_dimension(dimension: int) -> tuple[int, ...]:
    row = load_table("sobol").rows[dimension]
    polynomial, m = int(row["polynomial"]), [int(v) for v in row["first"].split()]
    degree = polynomial.bit_length() - 1
    for k in range(len(m), _BITS):
        if degree == 0:  # van der Corput
            m.append(1)
            continue
        new = m[k - degree]
        for i in range(1, degree + 1):
            if polynomial >> (degree - i) & 1:
                new ^= m[k - i] << i
        m.append(new)
    return tuple(value << (_BITS - 1 - k) for k, value in enumerate(m))


def sobol_points(
    n_points: int, n_columns: int, rng: np.random.Generator | None, first: int = 0
) -> FloatArray:
    """Return the first points of a Sobol sequence.

    Parameters
    ----------
    n_points : int
        How many points, a power of two [-].
    n_columns : int
        How many dimensions [-].
    rng : numpy.random.Generator or None
        For a random linear scramble with a digital shift; None for the plain sequence.
    first : int
        Dimensions of the sequence that are passed over [-].

    Returns
    -------
    (n_points, n_columns) array
        Points from 0 up to, but not at, 1 [-].

    Raises
    ------
    ValueError
        Where `n_points` is not a power of two.

    References
    ----------
    sobol1967 : the sequence
    matousek1998 : the scramble
    """
    if n_points < 1 or n_points & (n_points - 1):
        raise ValueError(f"{n_points} is not a power of two, as a Sobol sequence needs")
    directions = direction_numbers(first + n_columns)[first:]
    shift = np.zeros(n_columns, dtype=np.int64)
    if rng is not None:
        directions = _scrambled(directions, rng)
        shift = rng.integers(0, 1 << _BITS, n_columns)
    points = np.zeros((n_points, n_columns), dtype=np.int64)
    for bit in range(n_points.bit_length() - 1):
        half = 1 << bit
        points[half : 2 * half] = points[:half] ^ directions[:, bit]
    # the middle of the cell of 2^-30, so that no point lies at 0
    scale = 0.5 if rng is not None else 0.0
    return np.asarray(((points ^ shift) + scale) / (1 << _BITS), dtype=np.float64)


def _scrambled(directions: IntArray, rng: np.random.Generator) -> IntArray:
    """Multiply the bits of each direction number by a random lower triangular matrix (mod 2)."""
    n_columns = directions.shape[0]
    matrix = np.tril(rng.integers(0, 2, (n_columns, _BITS, _BITS)), -1)
    matrix += np.eye(_BITS, dtype=np.int64)
    place = np.arange(_BITS - 1, -1, -1)  # most significant first
    bits = directions[:, :, None] >> place & 1  # (column, number, bit)
    mixed = np.einsum("cij,cnj->cni", matrix, bits) & 1
    return np.asarray((mixed << place).sum(axis=2), dtype=np.int64)
