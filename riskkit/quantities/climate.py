"""A changed climate: by how much heavy rain is raised above that of the years behind it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem

__all__ = ["Climate", "read_climate", "warming_factor"]

SHARE_PER_K = 0.07
LEAST_K, MOST_K = -2.0, 6.0
LEAST_PCT, MOST_PCT = -50.0, 200.0
_F_PER_K = 1.8
_NUMBER = r"[+-]?\d{1,9}(?:\.\d{1,9})?"
_SIGN = r"(?:°|deg|degrees?)"
_WRITTEN = re.compile(
    rf"({_NUMBER}) ?(?:(?P<K>K|kelvins?)|{_SIGN}? ?(?:(?P<C>C|celsius)|(?P<F>F|fahrenheit))"
    r"|(?P<pct>%|per ?cent))",
    re.ASCII | re.IGNORECASE,
)
_NO_UNIT = re.compile(rf"({_NUMBER}) ?{_SIGN}?", re.ASCII | re.IGNORECASE)
_SHOWN = {"K": "K", "C": "°C", "F": "°F", "pct": "%"}
_RIGHT = (
    'write the warming, such as "2 °C" or "3.6 °F", or what the local authority adds, such as '
    '"20 %"'
)


@dataclass(frozen=True)
class Climate:
    """A change of the climate after the years of a record or a table.

    Parameters
    ----------
    text : str
        As it was written, such as ``"2 °C"`` or ``"20 %"``.
    factor : float
        Factor on depths of heavy rain [-].
    warming_k : float, optional
        The warming; None where the change was told in per cent [K].
    """

    text: str
    factor: float
    warming_k: float | None = None

    def words(self, system: UnitSystem | None = None) -> str:
        """Say the change in words that go before or after what changes.

        Parameters
        ----------
        system : UnitSystem, optional
            Units of the reader; both are said where it is not known.

        Returns
        -------
        str
            Such as ``"in a climate 3.6 °F (2 °C) warmer"``; empty where nothing changes.

        Examples
        --------
        >>> read_climate("2 K", "here").words(UnitSystem.METRIC)
        'in a climate 2 °C warmer'
        >>> read_climate("-10 %", "here").words()
        'with 10 % less rain in storms'
        """
        if self.factor == 1.0:
            return ""
        if self.warming_k is None:
            share = f"{abs(self.factor - 1.0) * 100.0:.3g} %"
            return f"with {share} {'more' if self.factor > 1.0 else 'less'} rain in storms"
        metric, us = f"{abs(self.warming_k):.3g} °C", f"{abs(self.warming_k) * _F_PER_K:.3g} °F"
        size = {UnitSystem.US: f"{us} ({metric})", UnitSystem.METRIC: metric}
        said = size[system] if system else f"{metric} ({us})"
        return f"in a climate {said} {'warmer' if self.warming_k > 0 else 'cooler'}"

    @property
    def why(self) -> str:
        """Where the factor comes from, in words."""
        if self.warming_k is None:
            return "as given"
        return f"{100 * SHARE_PER_K:g} % more rain for each kelvin of warming"

    @property
    def long_words(self) -> str:
        """What changes, by what factor, and why."""
        return f"{self.words()} (times {self.factor:.3g}, {self.why})"

    @property
    def caution(self) -> str:
        """What to bear in mind with depths so changed."""
        if self.factor > 1.0:
            return "short bursts may grow more"
        return "that is less rain than fell in them, so every answer is milder: be sure it is meant"


def warming_factor(warming_k: float) -> float:
    """Return the factor on heavy rain in a warmer climate.

    .. math:: f = 1.07^{\\Delta T}

    Air holds about 7 % more vapour for each kelvin (Clausius-Clapeyron), and heavy daily rain
    grows about as fast; short local bursts may grow faster.

    Parameters
    ----------
    warming_k : float
        Warming after the years of the record, -2 to 6 [K].

    Returns
    -------
    float
        Factor on the depths [-].

    References
    ----------
    ipcc_ar6 : B.2.4
    """
    return float((1.0 + SHARE_PER_K) ** warming_k)


def read_climate(written: object, where: str) -> Climate:
    """Read how the climate changes: degrees of warming, or per cent on the depths.

    Parameters
    ----------
    written : object
        What stands in the home file or on the command line, such as ``"2 °C"``, ``"3.6 °F"``,
        ``"2 K"`` or ``"20 %"``; a degree may be written ``°``, ``deg`` or not at all.
    where : str
        Its key or option, for the error text.

    Returns
    -------
    Climate
        The change.

    Raises
    ------
    InputError
        Where it is neither, has no unit, or lies outside -2 to 6 K and -50 to 200 %.

    References
    ----------
    ipcc_ar6 : B.2.4
    judgement : bounds
    """
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        told = "a list" if isinstance(written, list | tuple | dict) else str(written)[:40]
        raise InputError(where, f"{told} is not a change of the climate", _RIGHT)
    if isinstance(written, int) and written.bit_length() > 64:  # Python writes none so long
        raise InputError(where, "a number of many digits is no change of the climate", _RIGHT)
    text = str(written).strip()
    plain = " ".join(text.replace("\u2212", "-").replace("º", "°").split())
    bare = _NO_UNIT.fullmatch(plain)
    if bare:
        size = bare[1]
        right = f'write "{size} °C" or "{size} °F" for warming, or "{size} %" for more rain'
        raise InputError(where, f'"{text}" has no unit', right)
    found = _WRITTEN.fullmatch(plain)
    if found is None:
        raise InputError(where, f'"{text[:40]}" is no change of the climate', _RIGHT)
    number, unit = float(found[1]), str(found.lastgroup)
    per_k = {"K": 1.0, "C": 1.0, "F": _F_PER_K}.get(unit)
    low, high = (LEAST_K * per_k, MOST_K * per_k) if per_k else (LEAST_PCT, MOST_PCT)
    if not low <= number <= high:
        span = f"{low:g} to {high:g} {_SHOWN[unit]}"
        raise InputError(where, f"{number:g} {_SHOWN[unit]} is outside {span}", _RIGHT)
    if per_k is None:
        return Climate(text, 1.0 + number / 100.0)
    return Climate(text, warming_factor(number / per_k), number / per_k)
