"""Numbers in words and cells of tables, with no more digits than the spread allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from riskkit.quantities.units import UnitSystem, convert
from riskkit.quantities.variables import significant
from riskkit.report.amounts import Amount

if TYPE_CHECKING:
    from riskkit.ensemble.quantiles import Outcome

__all__ = [
    "RARE",
    "about_depth",
    "about_flow",
    "about_share",
    "cases_alike",
    "cases_words",
    "flow_range",
    "hours_words",
    "is_limit",
    "percent_words",
    "rain_amount",
    "rain_words",
    "rounded_to",
    "two_digits",
    "use_words",
]

_MOST_USE = 3.0  # a share of the pump above it tells no more than that it is too much
RARE = 0.005
"""A share below it, or as near to one, is told by a limit [-]."""
_HUNDRED = 100  # variants or more tell shares as fine as they are written
_EVEN = 0.5
_ROUNDED = 1e-9  # as a share of n may come out


def rounded_to(value: float, step: float) -> str:
    """Write a number in steps, one step at least.

    Parameters
    ----------
    value : float
        The number [any].
    step : float
        The step [any].

    Returns
    -------
    str
        Such as ``"35"``.
    """
    rounded = max(step, math.floor(value / step + 0.5) * step)
    return f"{rounded:g}"


def about_share(share: float, of: int = _HUNDRED) -> str:
    """Say a share as chances in ten or in a hundred.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].
    of : int
        Of how many variants it was counted; a share of few claims less [-].

    Returns
    -------
    str
        For example ``"7 in 10"``.

    Examples
    --------
    >>> about_share(0.68), about_share(0.031), about_share(0.0), about_share(0.0, of=32)
    ('7 in 10', '3 in 100', 'less than 1 in 100', 'less than 1 in 32')
    """
    limit, count, whole = _share_parts(share, of)
    return f"{limit} {count} in {whole}".lstrip()


_FEWER = {"less than": "fewer than"}  # of cases, that can be counted


def is_limit(share: float, of: int = _HUNDRED) -> bool:
    """Tell whether a share is so near to none, or to all, that only a limit can be said of it.

    The least share that n evenly spread variants can show is one of them, so where none of them
    shows a thing, fewer than 1 in n is all that is said: one variant more then always says more.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].
    of : int
        Of how many variants it was counted [-].

    Returns
    -------
    bool
        Such as True for no variant at all.
    """
    least = max(RARE, (1.0 - _ROUNDED) / of)
    return not least <= share <= 1.0 - least


def _share_parts(share: float, of: int) -> tuple[str, int, int]:
    """Limit, count, and of how many."""
    if is_limit(share, of):
        whole = min(of, _HUNDRED)
        return ("less than", 1, whole) if share < _EVEN else ("more than", whole - 1, whole)
    if share < 0.095 or share > 0.905:
        return "", round(share * 100), 100
    return "", round(share * 10), 10


def cases_alike(shares: Sequence[float], of: int = _HUNDRED) -> list[str]:
    """Say shares that stand side by side, of ten cases or of a hundred all of them.

    Parameters
    ----------
    shares : sequence of float
        From 0 to 1 [-].
    of : int
        Of how many variants they were counted [-].

    Returns
    -------
    list of str
        For each share, as `cases_words`; of a hundred where one of them needs it.

    Examples
    --------
    >>> cases_alike([0.07, 0.4]), cases_alike([0.3, 0.4])
    (['7 of 100', '40 of 100'], ['3 of 10', '4 of 10'])
    """
    if all(_share_parts(share, of)[2] == 10 for share in shares):
        return [cases_words(share, of) for share in shares]
    return [
        cases_words(share, of) if is_limit(share, of) else f"{round(share * 100)} of 100"
        for share in shares
    ]


def cases_words(share: float, of: int = _HUNDRED) -> str:
    """Say a share as so many of ten or of a hundred cases.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].
    of : int
        Of how many variants it was counted; a share of few claims less [-].

    Returns
    -------
    str
        For example ``"7 of 10"``.

    Examples
    --------
    >>> cases_words(0.68), cases_words(0.031), cases_words(0.0), cases_words(1.0, of=32)
    ('7 of 10', '3 of 100', 'fewer than 1 of 100', 'more than 31 of 32')
    """
    limit, count, whole = _share_parts(share, of)
    return " ".join(filter(None, (_FEWER.get(limit, limit), f"{count} of {whole}")))


def percent_words(share: float, of: int = _HUNDRED) -> str:
    """Write a share in whole per cent.

    Parameters
    ----------
    share : float
        From 0 to 1 [-].
    of : int
        Of how many variants it was counted; a share of few claims less [-].

    Returns
    -------
    str
        For example ``"31 %"`` or ``"< 1 %"``.

    Examples
    --------
    >>> percent_words(0.312), percent_words(0.0), percent_words(0.999), percent_words(1.0, of=32)
    ('31 %', '< 1 %', '> 99 %', '> 96 %')
    """
    if not is_limit(share, of):
        return f"{share * 100:.0f} %"
    least = math.ceil(100 / min(of, _HUNDRED))
    return f"< {least} %" if share < _EVEN else f"> {100 - least} %"


def about_flow(flow_m3_s: float, system: UnitSystem) -> str:
    """Write a flow to two digits.

    Parameters
    ----------
    flow_m3_s : float
        The flow [m3/s].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"3.4 gpm"``.
    """
    return str(_flow(flow_m3_s, system))


def _flow(flow_m3_s: float, system: UnitSystem) -> Amount:
    unit = "gpm" if system is UnitSystem.US else "L/min"
    return Amount(two_digits(convert(flow_m3_s, "m3/s", unit)), unit)


def flow_range(flow: Outcome, system: UnitSystem) -> str:
    """Write a flow with its likely range.

    Parameters
    ----------
    flow : Outcome
        The flow [m3/s].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        Such as ``"3.1 gpm (0.95–8.6)"``.
    """
    low, median, high = (_flow(v, system) for v in (flow.low, flow.median, flow.high))
    return f"{median} ({low.number}–{high.number})"


def about_depth(depth_m: float, system: UnitSystem) -> str:
    """Write a depth of water on the floor to one digit, which is all that its spread allows.

    Parameters
    ----------
    depth_m : float
        The depth [m].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"0.4 in"``; ``"none"``; above ten in steps of five.

    Examples
    --------
    >>> [about_depth(depth, UnitSystem.METRIC) for depth in (0.0, 0.0004, 0.0036, 0.036, 0.128)]
    ['none', '<0.1 cm', '0.4 cm', '4 cm', '15 cm']
    """
    if depth_m <= 0:
        return "none"
    unit = "in" if system is UnitSystem.US else "cm"
    shown = convert(depth_m, "m", unit)
    if shown < 0.1:
        return f"<0.1 {unit}"
    number = significant(shown, 1) if shown < 9.5 else rounded_to(shown, 5)
    return f"{number} {unit}"


def rain_words(depth_mm: float, system: UnitSystem) -> str:
    """Write a depth of rain to two digits, which is more than its limits allow.

    Parameters
    ----------
    depth_mm : float
        The depth [mm].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    str
        For example ``"3.1 in"`` or ``"79 mm"``.

    Examples
    --------
    >>> rain_words(179.8, UnitSystem.US), rain_words(179.8, UnitSystem.METRIC)
    ('7.1 in', '180 mm')
    """
    return str(rain_amount(depth_mm, system))


def rain_amount(depth_mm: float, system: UnitSystem) -> Amount:
    """Write a depth of rain to two digits, number and unit apart.

    Parameters
    ----------
    depth_mm : float
        The depth [mm].
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Amount
        As `rain_words` writes it.
    """
    unit = "in" if system is UnitSystem.US else "mm"
    return Amount(two_digits(convert(depth_mm, "mm", unit)), unit)


def hours_words(hours: float) -> str:
    """Write a duration of rain.

    Parameters
    ----------
    hours : float
        The duration [h].

    Returns
    -------
    str
        For example ``"5 min"``, ``"6 h"`` or ``"3 d"``.

    Examples
    --------
    >>> hours_words(1 / 12), hours_words(6), hours_words(72)
    ('5 min', '6 h', '3 d')
    """
    if hours < 1:
        return f"{hours * 60:.3g} min"
    return f"{hours:g} h" if hours <= 24 else f"{hours / 24:g} d"


def use_words(use: Outcome) -> str:
    """Write the peak inflow against what the pump can lift.

    Parameters
    ----------
    use : Outcome
        Inflow against the flow of the pump at its start level; infinite where it lifts nothing [-].

    Returns
    -------
    str
        For example ``"14 % (6–32)"``, ``"107 % (14 % to more than it lifts)"`` or
        ``"cannot lift"``.

    Examples
    --------
    >>> from riskkit.ensemble.quantiles import Outcome
    >>> use_words(Outcome(0.06, 0.14, 0.32, n_draws=512))
    '14 % (6–32)'
    >>> use_words(Outcome(0.14, 1.07, float("inf"), n_draws=512))
    '107 % (14 % to more than it lifts)'
    """
    too_much = "more than it lifts"
    if use.median > _MOST_USE:
        median = "cannot lift" if math.isinf(use.median) else too_much
        return median if use.low > _MOST_USE else f"{median} (from {use.low * 100:.0f} %)"
    median = f"{use.median * 100:.0f} %"
    if use.high > _MOST_USE:
        return f"{median} ({use.low * 100:.0f} % to {too_much})"
    return f"{median} ({use.low * 100:.0f}–{use.high * 100:.0f})"


def two_digits(value: float) -> str:
    """Write a number to two digits, with the zero that shows the second one.

    Parameters
    ----------
    value : float
        The number [any].

    Returns
    -------
    str
        Such as ``"4.0"``.
    """
    if value == 0:
        return "0"
    value = float(f"{value:.2g}")  # so that 9.96 counts as 10
    return f"{value:.{max(1 - math.floor(math.log10(abs(value))), 0)}f}"
