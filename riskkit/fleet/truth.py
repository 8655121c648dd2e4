"""A plan judged by a run of the truth about an invented company, which knows all of every home."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np

from riskkit.errors import InputError
from riskkit.fleet.planning import by_calendar, by_gain, mean_gains
from riskkit.fleet.store import read_columns, read_manifest, rows_done
from riskkit.records import IntArray

__all__ = ["need_truth", "share_reached"]

_ALIKE = {"settings": "with other settings", "usual": "with other rain", "rain": "with other rain"}
"""What two runs that are compared have in common, and how one of them is called that has not."""


def need_truth(folder: Path, truth: Path) -> None:
    """Refuse a run that is not of the truth about the homes of another.

    The truth is of the same homes, worked out alike, and tells more of them, of none less.

    Parameters
    ----------
    folder : Path
        Folder of the run that is judged.
    truth : Path
        Folder of the run that knows all.

    Raises
    ------
    InputError
        Where one is no run, is not finished, or is of an earlier version, and where `truth` is of
        other homes, worked out in another way, or tells no more of them.
    """
    asked, true = (read_manifest(each) for each in (folder, truth))
    differs = next((words for key, words in _ALIKE.items() if asked.get(key) != true.get(key)), "")
    if differs:
        raise InputError(truth.name, f"it is a run {differs}", f"run the truth as {folder.name}")
    for each in (folder, truth):
        far = rows_done(each)
        if far is None:
            what = "it is a run of an earlier version, which did not note what is told of homes"
            raise InputError(each.name, what, "run it again")
        if far[0] < far[1]:
            what = f"{far[1] - far[0]:,} of its {far[1]:,} homes are missing"
            raise InputError(each.name, what, "run it to its end first")
    (ids, told), (true_ids, true_told) = (_told(each) for each in (folder, truth))
    if ids != true_ids:
        raise InputError(truth.name, "it holds other homes", "run the truth of the same table")
    if any(more < less for less, more in zip(told, true_told, strict=True)) or told == true_told:
        what = f"it tells no more of its homes than {folder.name}, so it is not the truth of them"
        raise InputError(truth.name, what, "run the table that fleet demo --truth writes")


def _told(folder: Path) -> tuple[list[str], list[int]]:
    ids, told = [], []
    for part in read_columns(folder, ["id", "told"]):
        ids += part["id"].to_pylist()
        told += part["told"].to_pylist()
    return ids, told


def share_reached(
    folder: Path, truth: Path, per_week: int, begins: datetime.date, visit: float, flood: float
) -> tuple[float, float]:
    """Judge plan and calendar by a run in which everything is known.

    Parameters
    ----------
    folder, truth : Path
        Folders of the two runs, of the same homes in the same order.
    per_week : int
        Visits in a week [-].
    begins : date
        First day of the first week.
    visit, flood : float
        What a visit, and water on the floor once, cost [money].

    Returns
    -------
    tuple of float
        What the plan and the calendar keep away in truth, as shares of what the plan of who knows
        all keeps away [-].

    Raises
    ------
    InputError
        As `need_truth`.
    """
    need_truth(folder, truth)
    mean, due = mean_gains(folder, begins, visit, flood)
    true, _ = mean_gains(truth, begins, visit, flood)

    def gained(weeks: IntArray) -> float:
        at = np.flatnonzero(weeks >= 0)
        return float(true[at, weeks[at]].sum())

    best = gained(by_gain(true, per_week))
    if best <= 0:
        raise InputError(truth.name, "no visit gains anything there")
    return gained(by_gain(mean, per_week)) / best, gained(by_calendar(due, per_week)) / best
