"""How large a pump the storms of a place ask for, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.quantities.units import UnitSystem, convert
from riskkit.report.number_words import about_flow

if TYPE_CHECKING:
    from riskkit.assessment import Assessment

__all__ = ["pump_size_lines"]

_RARE_YR = 100.0


def pump_size_lines(answer: Assessment, system: UnitSystem) -> tuple[str, ...]:
    """Say what a pump has to lift, and how high.

    The flow is the largest inflow of the storm that 9 of 10 variants do not exceed. The lift is
    from where the pump starts to the highest point of its pipe; the losses of the pipe come to it.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    tuple of str
        One sentence.
    """
    found = [answer.headline_storm]
    found += [s for s in answer.storms if s.return_period_yr == _RARE_YR and s is not found[0]]
    flows = " and ".join(
        f"{about_flow(storm.pump_working.peak_inflow_m3_s.high, system)} in the "
        f"{storm.return_period_yr:g}-year storm"
        for storm in found
    )
    home = answer.median_home
    lift_m = float(home["outlet_height_m"][0] + home["on_depth_m"][0])
    unit = "ft" if system is UnitSystem.US else "m"
    lift = f"{convert(lift_m, 'm', unit):.{0 if system is UnitSystem.US else 1}f} {unit}"
    return (
        f"Needed pump, for 9 of 10 cases: {flows}, at a lift of {lift} and the loss of the pipe.",
    )
