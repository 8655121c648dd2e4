"""A changed climate: by how much heavy rain is raised above that of the years behind it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from riskkit.errors import InputError

__all__ = ["Climate", "read_climate", "warming_factor"]

SHARE_PER_K = 0.07
LEAST_K, MOST_K = -2.0, 6.0
LEAST_PCT, MOST_PCT = -50.0, 200.0
_WRITTEN = re.compile(r"([+-]?\d{1,9}(?:\.\d{1,9})?)\s*(K|%)", re.ASCII)
_RIGHT = 'write the warming, such as "2 K", or what the local authority adds, such as "20 %"'


@dataclass(frozen=True)
class Climate:
    """A change of the climate after the years of a record or a table.

    Parameters
    ----------
    text : str
        As it was written, such as ``"2 K"`` or ``"20 %"``.
    factor : float
        Factor on depths of heavy rain [-].
    words : str
        As it is said, such as ``"in a climate 2 K warmer"``; empty where nothing changes.
    why : str
        Where the factor comes from, in words.
    """

    text: str
    factor: float
    words: str
    why: str

    @property
    def long_words(self) -> str:
        """What changes, by what factor, and why."""
        return f"{self.words} (times {self.factor:.3g}, {self.why})"


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
    """Read how the climate changes: kelvins of warming, or per cent on the depths.

    Parameters
    ----------
    written : object
        What stands in the home file or on the command line.
    where : str
        Its key or option, for the error text.

    Returns
    -------
    Climate
        The change.

    Raises
    ------
    InputError
        Where it is neither, or outside -2 to 6 K and -50 to 200 %.

    References
    ----------
    ipcc_ar6 : B.2.4
    judgement : bounds
    """
    text = written.strip().replace("\u2212", "-") if isinstance(written, str) else ""
    found = _WRITTEN.fullmatch(text)
    if found is None:
        raise InputError(where, f'"{str(written)[:40]}" is no change of the climate', _RIGHT)
    number, unit = float(found[1]), found[2]
    low, high = (LEAST_K, MOST_K) if unit == "K" else (LEAST_PCT, MOST_PCT)
    if not low <= number <= high:
        raise InputError(where, f"{number:g} {unit} is outside {low:g} to {high:g} {unit}", _RIGHT)
    size, words = f"{abs(number):g} {unit}", ""
    if unit == "K":
        factor, why = warming_factor(number), "7 % more rain for each kelvin of warming"
        if number:
            words = f"in a climate {size} {'warmer' if number > 0 else 'cooler'}"
    else:
        factor, why = 1.0 + number / 100.0, "as given"
        if number:
            words = f"with {size} {'more' if number > 0 else 'less'} rain in storms"
    return Climate(text, factor, words, why)
