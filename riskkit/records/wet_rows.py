"""A rain record as the rows of a file that leaves dry hours out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskkit.records import RainRecord

__all__ = ["wet_rows_csv"]


def wet_rows_csv(record: RainRecord, head: Sequence[str]) -> str:
    """Write an hourly record without gaps as a plain table that leaves dry hours out.

    Parameters
    ----------
    record : RainRecord
        The record.
    head : sequence of str
        Lines on what it is, without the sign of a comment.

    Returns
    -------
    str
        Comments, header, and a row for every wet hour and both ends.
    """
    listed = record.depth_mm > 0  # dry hours are left out, but for the ends of the record
    listed[[0, -1]] = True
    times = np.datetime_as_string(record.times[listed], unit="m")
    rows = [f"{t},{d:g}" for t, d in zip(times, record.depth_mm[listed], strict=True)]
    lines = [f"# {line}" for line in (*head, "interval: 1 h", "dry intervals: left out")]
    return "\n".join([*lines, "time,depth_mm", *rows, ""])
