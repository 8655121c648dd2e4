"""One dictionary of quantities: name, symbol, unit, plausible range and plain words.

Home files, forms, error messages, draws and reports all read it, so that a new quantity is one row
in ``tables/quantities.csv`` and appears everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from riskkit.quantities.units import UnitSystem, convert
from riskkit.tables import load_table

__all__ = [
    "Choice",
    "Shape",
    "Spread",
    "Variable",
    "choices",
    "counted",
    "said_limit",
    "signed_percent",
    "significant",
    "spread_of_row",
    "variable",
    "variable_of",
    "variables",
]

_COUNTS = frozenset({"pipe.elbows"})  # shown as whole numbers


def significant(value: float, digits: int) -> str:
    """Write a number with so many digits that count, never as a power of ten.

    Parameters
    ----------
    value : float
        The number [any].
    digits : int
        Digits that count [-].

    Returns
    -------
    str
        Without zeros at the end of its decimals.

    Examples
    --------
    >>> significant(21.53, 2), significant(0.0538, 2), significant(1014, 3), significant(9.96, 2)
    ('22', '0.054', '1,010', '10')
    """
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):,.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def said_limit(end: float, *, is_low: bool) -> float:
    """Round a limit inwards to a number that people say.

    What is refused lies beyond the limit that is said; a little within the true one is not said.

    Parameters
    ----------
    end : float
        The limit, such as 11.81 [any].
    is_low : bool
        Whether values lie above it.

    Returns
    -------
    float
        One digit that counts where that takes no more than a tenth away, else two [any].

    Examples
    --------
    >>> [round(said_limit(end, is_low=True), 4) for end in (11.811, 0.3937, 86.11, -118.11)]
    [12.0, 0.4, 90.0, -110.0]
    >>> [round(said_limit(end, is_low=False), 4) for end in (118.11, 98.43, 1.1)]
    [110.0, 90.0, 1.1]
    """
    if not end:
        return 0.0
    turn, places = (math.ceil if is_low else math.floor), math.floor(math.log10(abs(end)))
    one, two = (
        turn(round(end / 10.0 ** (places - more), 6)) * 10.0 ** (places - more) for more in (0, 1)
    )
    if math.isclose(two, end, rel_tol=1e-6):
        return two
    return one if abs(one - end) <= 0.1 * abs(end) else two


def counted(number: int, one: str, many: str) -> str:
    """Write a number before what is counted.

    Parameters
    ----------
    number : int
        How many there are [-].
    one, many : str
        What goes on after 1, and after any other number.

    Returns
    -------
    str
        Number and words.

    Examples
    --------
    >>> [counted(n, "value is", "values are") for n in (0, 1, 1200)]
    ['0 values are', '1 value is', '1,200 values are']
    """
    return f"{number:,} {one if number == 1 else many}"


def signed_percent(value: float) -> str:
    """Write a difference in whole per cent with its sign; none has no sign.

    Parameters
    ----------
    value : float
        The difference [%].

    Returns
    -------
    str
        Without the unit.

    Examples
    --------
    >>> signed_percent(7.6), signed_percent(-0.3), signed_percent(0.3), signed_percent(-12)
    ('+8', '0', '0', '-12')
    """
    return f"{round(value):+d}" if round(value) else "0"


@dataclass(frozen=True)
class Spread:
    """The 5 %, 50 % and 95 % points of an uncertain quantity, in its SI unit."""

    p05: float
    p50: float
    p95: float
    words: str
    source: str


def spread_of_row(row: Mapping[str, str], points_of: str = "") -> Spread:
    """Return the spread that a row of a table holds.

    Parameters
    ----------
    row : mapping of str to str
        The row, with ``words`` and ``source``.
    points_of : str
        What the names of the columns of its points begin with, such as ``"life_"``.

    Returns
    -------
    Spread
        Its points, words and source [any].
    """
    low, median, high = (float(row[f"{points_of}{point}"]) for point in ("p05", "p50", "p95"))
    return Spread(low, median, high, words=row["words"], source=row["source"])


@dataclass(frozen=True)
class Shape:
    """On which scale a spread is taken, and what is left of it when a value is known."""

    scale: str  # normal, log or logit
    kind: str  # relative, absolute or logit
    given: float
    measured: float


@dataclass(frozen=True)
class Variable:
    """A quantity of a home."""

    key: str
    name: str
    symbol: str
    unit: str
    us_unit: str
    metric_unit: str
    low: float
    high: float
    words: str
    unknown: Spread
    shape: Shape
    column: int | None  # of the draws; None where it is not drawn

    @property
    def section(self) -> str:
        """Section of the home file that holds it."""
        return self.key.split(".")[0]

    @property
    def is_count(self) -> bool:
        """Whether it is a whole number of things."""
        return self.key in _COUNTS

    def shown_unit(self, system: UnitSystem) -> str:
        """Return the unit a reader sees.

        Parameters
        ----------
        system : UnitSystem
            US customary or metric.

        Returns
        -------
        str
            The unit, such as ``"in"``.
        """
        return self.us_unit if system is UnitSystem.US else self.metric_unit

    def text(self, value: float, system: UnitSystem, digits: int = 3) -> str:
        """Write a value for a reader, to three digits unless told otherwise.

        Parameters
        ----------
        value : float
            The value in the SI unit of the quantity [any].
        system : UnitSystem
            US customary or metric.
        digits : int, default 3
            Digits that count [-]; a count, such as of elbows, is always a whole number.

        Returns
        -------
        str
            Number and unit, such as ``"18 in"``.
        """
        return self._with_unit(self._number(self._shown(value, system), digits), system)

    def spread_text(
        self, low: float, median: float, high: float, system: UnitSystem
    ) -> tuple[str, str]:
        """Write a spread for a reader: two digits where it is wide, three where it is narrow.

        Parameters
        ----------
        low, median, high : float
            Points of the spread in the SI unit of the quantity [any].
        system : UnitSystem
            US customary or metric.

        Returns
        -------
        median : str
            Such as ``"3.2 ft2"``.
        span : str
            Such as ``"0.54 to 22 ft2"``; one value where there is no spread.
        """
        ends = [self._shown(value, system) for value in (low, high)]
        largest = max(abs(end) for end in ends)
        step = 10.0 ** (math.floor(math.log10(largest)) - 1) if largest else 0.0
        digits = 2 if ends[1] - ends[0] >= 5 * step else 3
        first, last = (self._number(end, digits) for end in ends)
        span = self._with_unit(last if first == last else f"{first} to {last}", system)
        return self.text(median, system, digits), span

    def _shown(self, value: float, system: UnitSystem) -> float:
        unit = self.shown_unit(system)
        return convert(value, self.unit, unit if unit != "%" else "percent")

    def _number(self, shown: float, digits: int) -> str:
        return f"{shown:.0f}" if self.is_count else significant(shown, digits)

    def _with_unit(self, number: str, system: UnitSystem) -> str:
        unit = self.shown_unit(system)
        return number if unit == "1" else f"{number} {unit}"

    def range_text(self, joint: str = " to ") -> str:
        """Return the plausible range in words, in both unit systems.

        Parameters
        ----------
        joint : str
            Between the two ends, such as ``" and "`` after the word "between".

        Returns
        -------
        str
            For example ``"12 in to 118 in (30 cm to 300 cm)"``.
        """
        us, metric = (joint.join(self.end_texts(system)) for system in UnitSystem)
        return us if self.us_unit == self.metric_unit else f"{us} ({metric})"

    def end_texts(self, system: UnitSystem) -> tuple[str, str]:
        """Write the ends of the plausible range as people say them; both can be given.

        Parameters
        ----------
        system : UnitSystem
            US customary or metric.

        Returns
        -------
        tuple of two str
            Such as ``("12 in", "110 in")`` for 0.3 to 3 m: within the range, see `said_limit`.
        """
        if self.is_count or self.us_unit == self.metric_unit:
            return self.text(self.low, system), self.text(self.high, system)
        low = said_limit(self._shown(self.low, system), is_low=True)
        high = said_limit(self._shown(self.high, system), is_low=False)
        return (
            self._with_unit(significant(low, 2), system),
            self._with_unit(significant(high, 2), system),
        )


@dataclass(frozen=True)
class Choice:
    """A question answered by one of a few words, and what each answer means for a quantity."""

    key: str
    options: Mapping[str, Mapping[str, Spread]]  # option -> target key -> spread

    @property
    def targets(self) -> frozenset[str]:
        """Keys of the quantities that this choice sets."""
        return frozenset(target for spreads in self.options.values() for target in spreads)


@cache
def variables() -> Mapping[str, Variable]:
    """Return every quantity by its key, in the order of the table.

    Returns
    -------
    mapping of str to Variable
        For example ``variables()["pit.diameter"]``.
    """
    return MappingProxyType({row["key"]: variable_of(row) for row in load_table("quantities").rows})


def variable_of(row: Mapping[str, str]) -> Variable:
    """Return the quantity that a row of a table tells of.

    Parameters
    ----------
    row : mapping of str to str
        Columns as in ``quantities.csv``.

    Returns
    -------
    Variable
        The quantity; one without a column takes no part in the draws of all homes.
    """
    points = (float(row["p05"]), float(row["p50"]), float(row["p95"]))
    return Variable(
        key=row["key"],
        name=row["name"],
        symbol=row["symbol"],
        unit=row["unit"],
        us_unit=row["us_unit"],
        metric_unit=row["metric_unit"],
        low=float(row["low"]),
        high=float(row["high"]),
        words=row["words"],
        unknown=Spread(*points, words=row["basis"], source=row["source"]),
        shape=Shape(row["shape"], row["spread"], float(row["given"]), float(row["measured"])),
        column=int(row["column"]) if row.get("column") else None,
    )


def variable(key: str) -> Variable:
    """Return one quantity.

    Parameters
    ----------
    key : str
        Section and key of the home file, such as ``"pit.diameter"``.

    Returns
    -------
    Variable
        Its entry in the dictionary.
    """
    return variables()[key]


@cache
def choices() -> Mapping[str, Choice]:
    """Return every choice by its key.

    Returns
    -------
    mapping of str to Choice
        For example ``choices()["ground.slope"]``.
    """
    found: dict[str, dict[str, dict[str, Spread]]] = {}
    for row in load_table("choices").rows:
        of_option = found.setdefault(row["choice"], {}).setdefault(row["option"], {})
        of_option[row["target"]] = spread_of_row(row)
    return MappingProxyType({key: Choice(key, options) for key, options in found.items()})
