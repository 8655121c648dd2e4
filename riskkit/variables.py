"""One dictionary of quantities: name, symbol, unit, plausible range and plain words.

Site files, forms, error messages, draws and reports all read it, so that a new quantity is one row
in ``tables/quantities.csv`` and appears everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from riskkit.tables import load_table
from riskkit.units import UnitSystem, convert

__all__ = ["Choice", "Shape", "Spread", "Variable", "choices", "variable", "variables"]


@dataclass(frozen=True)
class Spread:
    """The 5 %, 50 % and 95 % points of an uncertain quantity, in its SI unit."""

    p05: float
    p50: float
    p95: float
    words: str
    source: str


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

    @property
    def section(self) -> str:
        """Section of the site file that holds it."""
        return self.key.split(".")[0]

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

    def text(self, value: float, system: UnitSystem) -> str:
        """Write a value for a reader, to three digits at most.

        Parameters
        ----------
        value : float
            The value in the SI unit of the quantity [any].
        system : UnitSystem
            US customary or metric.

        Returns
        -------
        str
            Number and unit, such as ``"18 in"``.
        """
        unit = self.shown_unit(system)
        shown = convert(value, self.unit, unit if unit != "%" else "percent")
        number = f"{shown:.3g}" if abs(shown) < 1000 else f"{shown:,.0f}"
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
        us, metric = UnitSystem.US, UnitSystem.METRIC
        first = f"{self.text(self.low, us)}{joint}{self.text(self.high, us)}"
        if self.us_unit == self.metric_unit:
            return first
        return f"{first} ({self.text(self.low, metric)}{joint}{self.text(self.high, metric)})"


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
    found = {}
    for row in load_table("quantities").rows:
        points = (float(row["p05"]), float(row["p50"]), float(row["p95"]))
        found[row["key"]] = Variable(
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
        )
    return MappingProxyType(found)


def variable(key: str) -> Variable:
    """Return one quantity.

    Parameters
    ----------
    key : str
        Section and key of the site file, such as ``"pit.diameter"``.

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
        points = (float(row["p05"]), float(row["p50"]), float(row["p95"]))
        spread = Spread(*points, words=row["words"], source=row["source"])
        found.setdefault(row["choice"], {}).setdefault(row["option"], {})[row["target"]] = spread
    return MappingProxyType({key: Choice(key, options) for key, options in found.items()})
