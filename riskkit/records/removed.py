"""Values of a rain file that its reader did not believe."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

__all__ = ["Removed", "Why"]


class Why(Enum):
    """Why a reader set a value of a record to missing."""

    TOTAL = "total"  # over several intervals
    FLAGGED = "flagged"  # by the archive, as of bad quality


@dataclass(frozen=True)
class Removed:
    """A value that stood in a file and was set to missing.

    Parameters
    ----------
    time : numpy.datetime64
        Start of its interval, to the second.
    depth_mm : float
        What stood there [mm].
    why : Why
        The reason.
    """

    time: np.datetime64
    depth_mm: float
    why: Why
