"""Changes of a home, such as remedies, by name; nothing is worked out here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

from riskkit.errors import InputError, need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.home.home import Home
from riskkit.quantities.components import Component
from riskkit.quantities.quantity import UNKNOWN
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices
from riskkit.records import FrozenMapping
from riskkit.tables import load_table

__all__ = ["Change", "Changes", "Enough", "remedies", "remedy"]


class Enough(Enum):
    """When a home is already as a change would make it."""

    EQUAL = "equal"
    AT_MOST = "at_most"
    AT_LEAST = "at_least"


@dataclass(frozen=True)
class Change:
    """Something that may be done at a home, as values of its file.

    Parameters
    ----------
    name : str
        What to call it, such as ``"wider pit"``.
    values : mapping of str to str
        New values by key, such as ``{"pit.diameter": "24 in"}``.
    words_us, words_metric : str
        What to do, in plain words with the units of the reader.
    enough : mapping of str to Enough or str, optional
        When a home is so already, by key: ``"equal"``, ``"at_least"`` or ``"at_most"`` the value;
        equal where nothing is said.

    Raises
    ------
    InputError
        Where it has no values, or one that is not text with its unit.
    """

    name: str
    values: Mapping[str, str]
    words_us: str = ""
    words_metric: str = ""
    enough: Mapping[str, Enough] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_type(self.name, str, "change", "give it a name, such as 'wider pit'")
        right = 'give values by key, such as {"pit.diameter": "24 in"}'
        need_type(self.values, Mapping, "change", right)
        need_type(self.enough, Mapping, "change", 'give "at_least" or "at_most" by key')
        if not self.values:
            raise InputError("change", f"{self.name!r} changes nothing", right)
        for key, value in self.values.items():
            if not isinstance(value, str):
                what = f"{self.name!r} gives {key} {value!r}, which has no unit"
                raise InputError("change", what, 'write it as in a home file, such as "24 in"')
        enough = {key: _enough(one) for key, one in self.enough.items()}
        object.__setattr__(self, "values", FrozenMapping(self.values))
        object.__setattr__(self, "enough", FrozenMapping(enough))

    def words(self, system: UnitSystem) -> str:
        """Return what to do, in plain words; its name where nobody said more.

        Parameters
        ----------
        system : UnitSystem
            Units of the reader.

        Returns
        -------
        str
            A sentence or two.
        """
        words = self.words_us if system is UnitSystem.US else self.words_metric
        return words or self.name

    def applied(self, home: Home) -> Home:
        """Return a home, as visits and tests saw it, with the change made.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        Home
            A new home.

        Raises
        ------
        InputError
            Where the home cannot be so.
        """
        changes: dict[str, object] = {}
        for target, value in self.values.items():
            changes[target.replace(".", "__")] = value
            if target in choices():  # a number would take precedence over the word
                for number in choices()[target].targets:
                    changes[number.replace(".", "__")] = UNKNOWN
        seen = home_as_seen(home)
        return seen.changed(**changes).changed_from(seen.as_observed)

    def is_in_place(self, home: Home) -> bool:
        """Tell whether the home is so already.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        bool
            False where it is not, and where nobody knows.
        """
        seen, after = home_as_seen(home), self.applied(home)
        return all(
            _is_so(seen, after, target, value, self.enough.get(target, Enough.EQUAL))
            for target, value in self.values.items()
        )

    def fits(self, home: Home) -> bool:
        """Tell whether the home has the part that is changed.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        bool
            False for a change of the pump or its pipe where there is no pump, and for one of known
            quantities that contradicts the home, such as a diameter where the pit is rectangular.
        """
        of_pump = any(target.split(".")[0] in ("pump", "pipe") for target in self.values)
        if of_pump and home.lacks(Component.PUMP):
            return False
        try:
            self.applied(home)
        except InputError:
            self.applied(Home())  # a change that no home can have is told, not left out
            return False
        return True

    def is_known(self, home: Home) -> bool:
        """Tell whether the home file says how it is now.

        Parameters
        ----------
        home : Home
            The home.

        Returns
        -------
        bool
            True where nothing of it is unknown.
        """
        seen = home_as_seen(home)
        return all(_now(seen, target) is not None for target in self.values)


Changes: TypeAlias = Iterable[Change | str] | Change | str
"""What may be tried at a home: changes, or keys of remedies."""


def _enough(told: object) -> Enough:
    try:
        return Enough(told)
    except ValueError:
        known = ", ".join(f'"{one.value}"' for one in Enough)
        raise InputError("change", f"{told!r} is not known", f"known are {known}") from None


def _is_so(home: Home, after: Home, target: str, value: str, enough: Enough) -> bool:
    if target in choices():
        return _now(home, target) == value
    old, new = home.quantity(target), after.quantity(target)
    if old is None or new is None:
        return False
    if enough is Enough.AT_MOST:
        return old.value <= new.value
    return old.value >= new.value if enough is Enough.AT_LEAST else old.value == new.value


def _now(home: Home, target: str) -> str | None:
    """How it is now, as written; None where nobody knows."""
    if target in choices():
        numbers = [home.quantity(key) for key in choices()[target].targets]
        given = [number.text for number in numbers if number is not None]
        return given[0] if given else home.choice(target)
    found = home.quantity(target)
    return None if found is None else found.text


def remedies() -> tuple[Change, ...]:
    """List what may help a home, as ``tables/remedies.csv`` holds it.

    Returns
    -------
    tuple of Change
        Whether one helps is worked out for each home, see `riskkit.compare`.

    Examples
    --------
    >>> downspouts = remedies()[0]
    >>> downspouts.name, dict(downspouts.values)
    ('downspouts', {'roof.at_wall': '0 %'})
    """
    rows: dict[str, list[Mapping[str, str]]] = {}
    for row in load_table("remedies").rows:
        rows.setdefault(row["key"], []).append(row)
    return tuple(
        Change(
            name=key,
            values={row["target"]: row["value"] for row in of_key},
            words_us=of_key[0]["words_us"],
            words_metric=of_key[0]["words_metric"],
            enough={row["target"]: Enough(row["enough"]) for row in of_key},
        )
        for key, of_key in rows.items()
    )


def remedy(key: str) -> Change:
    """Return one remedy.

    Parameters
    ----------
    key : str
        Its key in ``tables/remedies.csv``.

    Returns
    -------
    Change
        The remedy.

    Raises
    ------
    InputError
        Where there is no such remedy.
    """
    known = {change.name: change for change in remedies()}
    if key not in known:
        raise InputError("remedies", f"there is no remedy {key!r}", f"known are {', '.join(known)}")
    return known[key]
