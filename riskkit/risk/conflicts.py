"""What is told of the ground water against the inflow that was seen in dry weather."""

from __future__ import annotations

from riskkit.antecedent.water_table import WATER_TABLE, AntecedentGround
from riskkit.ensemble.draws import Assumption, assumptions, median_home
from riskkit.home.home import Home
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import variable
from riskkit.simulate import least_water_table_of

__all__ = ["ground_water_conflict"]

_DRY_INFLOW = "ground.dry_inflow"
_HOW = {Basis.MEASURED: "measured as", Basis.GIVEN: "given as"}


def ground_water_conflict(home: Home, before: AntecedentGround | None = None) -> str:
    """Name a water table with which the inflow of dry weather cannot be.

    Parameters
    ----------
    home : Home
        The home.
    before : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.

    Returns
    -------
    str
        One sentence that says what was taken instead; empty where both fit, or one is not known.

    References
    ----------
    judgement : they do not fit where even the likely end of the depth nearest to the inflow is off
    """
    rows = {row.key: row for row in assumptions(home, before)}
    inflow, table = home.quantity(_DRY_INFLOW), rows[WATER_TABLE]
    if inflow is None or table.basis is Basis.UNKNOWN:
        return ""
    seen = f"The inflow in dry weather is {_HOW[inflow.basis]} {inflow.amount}"
    told = f"the water table {_depth_words(table)}"
    median = median_home(home, before)
    drain_m = float(median["drain_depth_m"][0])
    if inflow.value == 0:
        bottom_m = max(drain_m, float(median["on_depth_m"][0]))
        if table.p95 >= bottom_m:
            return ""
        return (
            f"{seen}, but {told}, from where water would come: the inflow counts, and no ground "
            "water is taken to come. Measure both again."
        )
    least_m = float(least_water_table_of(median)[0]) - drain_m  # above the floor
    if -table.p05 >= least_m:
        return ""
    return (
        f"{seen}, but {told}, from where it cannot come: the inflow counts, and the water table is "
        f"taken to stand at least {_level_words(least_m)}. Measure both again."
    )


def _depth_words(row: Assumption) -> str:
    if row.quantity is None:  # by levels measured or remembered
        return f"is taken from {row.value}"
    how = _HOW[row.basis]
    if row.quantity.value < 0:
        return f"is {how} {_level_words(-row.quantity.value)}"
    return f"is {how} {row.quantity.amount} below the floor"


def _level_words(level_m: float) -> str:
    us, metric = (variable(WATER_TABLE).text(abs(level_m), system, 2) for system in UnitSystem)
    return f"{us} ({metric}) {'above' if level_m >= 0 else 'below'} the floor"
