"""A home: what is known of it, as read from its file.

A home file is TOML. Values are text with their unit, depths are measured down from the basement
floor, and everything may be left out or ``"unknown"``::

    format = 1
    name = "Split-level on clay"

    [pit]
    diameter = "18 in, measured"   # measured at a visit: narrow spread
    depth    = "24 in"             # told or read off a plan: medium spread
    # nothing said of the gravel: the default with its wide spread is used, and the answer says so

    [switch]
    alarm = "5 to 7 in"            # a range: nine times out of ten it lies within

    [roof]
    at_wall = "2 of 6"             # shares may be written as a count
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, cast

from pydantic import Field, PrivateAttr, ValidationError, field_validator

import riskkit
from riskkit.errors import InputError, need_type
from riskkit.files import read_text
from riskkit.home._converted import FORMAT, entered_by_visits
from riskkit.home._fields import field_error
from riskkit.home._keys import choice_keys, need_key, quantity_keys
from riskkit.home._problems import (
    contradictions,
    control_characters,
    nested_too_deeply,
    newer_format,
    place_in,
)
from riskkit.home._refused import problem_of
from riskkit.home._renamed import with_new_keys
from riskkit.home._toml import read_toml
from riskkit.home.folder import HomeFolder
from riskkit.home.observations import Observation
from riskkit.home.sections import AMOUNTS, Sections
from riskkit.home.visits import Visit
from riskkit.limits import HOME_VISITS
from riskkit.quantities.components import NONE, Component, component_of, key_of
from riskkit.quantities.quantity import UNKNOWN, Basis, Quantity, shown
from riskkit.quantities.variables import choices, counted, variables
from riskkit.records.shown import ShownInNotebook

if TYPE_CHECKING:
    from collections.abc import Callable

    from riskkit.records import DepthDurationFrequency, RainRecord

__all__ = ["Basis", "Home", "Quantity", "check_home", "home_of", "load_home", "read_home"]

_NOTHING: Mapping[str, object] = MappingProxyType({})
_MOST_FAULTS = 100  # that are told one by one


class Home(Sections, ShownInNotebook):
    """A home: what is known of it. Frozen; see `load_home` and `Home.changed`."""

    visit: tuple[Visit, ...] = Field((), max_length=HOME_VISITS, description="visits, as [[visit]]")
    observation: tuple[Observation, ...] = Field(
        (), max_length=HOME_VISITS, description="what was observed, as [[observation]]"
    )
    _folder: HomeFolder | None = PrivateAttr(default=None)
    _observed: Home | None = PrivateAttr(default=None)
    _is_as_seen: bool = PrivateAttr(default=False)

    @property
    def folder(self) -> Path | None:
        """Folder of the file that it was read from, where the files lie that it names."""
        return None if self._folder is None else self._folder.path

    def in_folder(
        self, folder: Path | str | None, *, outside: bool | None = None, file: str = ""
    ) -> Home:
        """Return the home with another folder for the files that it names.

        Parameters
        ----------
        folder : Path, str or None
            The folder.
        outside : bool, optional
            Whether they may lie outside it; as before where it is left out.
        file : str
            Name of the home file, for messages; as before where it is left out.

        Returns
        -------
        Home
            A new home; this one stays.
        """
        moved, old = self.model_copy(), self._folder or HomeFolder(Path())
        may = old.outside if outside is None else outside
        moved._folder = None if folder is None else HomeFolder(Path(folder), may, file or old.file)
        return moved

    @property
    def home_folder(self) -> HomeFolder | None:
        """Where it was read from, and whether it may name files outside; see `named_file`."""
        return self._folder

    @property
    def as_observed(self) -> Home:
        """The home as it was when it was observed: itself, unless a remedy is tried."""
        return self if self._observed is None else self._observed

    def changed_from(self, observed: Home) -> Home:
        """Return the home as one that was made of another, of which the observations tell.

        Parameters
        ----------
        observed : Home
            The home as it was observed.

        Returns
        -------
        Home
            A new home; this one stays.
        """
        made = self.model_copy()
        made._observed, made._is_as_seen = observed, observed.is_as_seen
        return made

    @property
    def is_as_seen(self) -> bool:
        """Whether what visits and tests saw is laid over it; nothing is laid over it again."""
        return self._is_as_seen

    def seen(self) -> Home:
        """Return the home as one over which is laid what visits and tests saw.

        Returns
        -------
        Home
            A new home; this one stays. What is changed in it is tried on the home as it stands.
        """
        made = self.model_copy()
        made._is_as_seen = True
        return made

    def __eq__(self, other: object) -> bool:
        """Compare what is known of two homes, wherever their files lie."""
        return isinstance(other, Home) and self.__dict__ == other.__dict__

    def __hash__(self) -> int:
        return hash((self.name, self.visit))

    def __repr__(self) -> str:
        n_known = sum(self.quantity(key) is not None for key in variables())
        n_known += sum(self.choice(key) is not None for key in choices())
        known = f"{n_known} of {len(variables()) + len(choices())} values known"
        visits = f", {counted(len(self.visit), 'visit', 'visits')}" if self.visit else ""
        return f"Home({self.name!r}, {known}{visits})"

    __str__ = __repr__

    @field_validator("format", mode="before")
    @classmethod
    def _is_a_number(cls, written: object) -> object:
        if type(written) is not int or written not in (1, FORMAT):  # true and 1.0 pass for 1
            right = f"it is 1 or {FORMAT}"
            raise field_error(InputError("format", f"{shown(written)} is not right", right))
        return 1  # of the file alone: in memory every home is as one of today

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files beside the home file that are given."""
        levels = self.choice("ground.water_levels")
        return (*self.rain.files, *((levels,) if levels else ()))

    def quantity(self, key: str) -> Quantity | None:
        """Return a value, or None where it is unknown.

        Parameters
        ----------
        key : str
            Section and key, such as ``"pit.depth"``.

        Returns
        -------
        Quantity or None
            The value as given; None also where the part is not there, see `lacks`.
        """
        found = self.written(key)
        is_measure = component_of(key) is not Component.GRAVEL  # none of it has a size: zero
        return None if found is not None and found.is_none and is_measure else found

    def written(self, key: str) -> Quantity | None:
        """Return a value as it stands in the file, also where it says that a part is not there.

        Parameters
        ----------
        key : str
            Section and key, such as ``"switch.alarm"``.

        Returns
        -------
        Quantity or None
            The value as given; None where it is left out or unknown.
        """
        need_key(key, quantity_keys(), "a quantity")
        return cast("Quantity | None", self._held(key))

    def _held(self, key: str) -> object:
        section, name = key.split(".")
        return getattr(getattr(self, section), name)

    def lacks(self, part: Component) -> bool:
        """Tell whether the home is said to be without a part.

        Parameters
        ----------
        part : Component
            The part.

        Returns
        -------
        bool
            False where it is there, and where nobody knows.
        """
        key = key_of(part)
        if part is Component.CHECK_VALVE:
            return self.choice(key) == NONE
        found = self.written(key)
        if part is Component.GRAVEL:
            return found is not None and found.value == 0 and found.low is None
        return found is not None and found.is_none

    def choice(self, key: str) -> str | None:
        """Return the word chosen, or None where it is unknown.

        Parameters
        ----------
        key : str
            Section and key, such as ``"ground.slope"``.

        Returns
        -------
        str or None
            One of the options.
        """
        need_key(key, choice_keys(), "a choice")
        return cast("str | None", self._held(key))

    def cost(self, key: str) -> float | None:
        """Return an amount of money of the section of costs, or None where it is unknown.

        Parameters
        ----------
        key : str
            Without its section, such as ``"flood"``.

        Returns
        -------
        float or None
            The amount [money].
        """
        need_key(key, tuple(AMOUNTS), "an amount of money")
        return cast("float | None", self._held(f"costs.{key}"))

    @property
    def currency(self) -> str | None:
        """Currency of its costs, a code of three letters."""
        return cast("str | None", self._held("costs.currency"))

    @property
    def price_year(self) -> int | None:
        """Year of its costs [yr]."""
        return cast("int | None", self._held("costs.price_year"))

    def pairs(self, key: str) -> tuple[tuple[float, float], ...] | None:
        """Return a measured table, or None where there is none.

        Parameters
        ----------
        key : str
            ``"pit.table"`` or ``"pump.curve"``.

        Returns
        -------
        tuple of pairs or None
            Depth [m] and volume [m3], or flow [m3/s] and head [m].
        """
        need_key(key, ("pit.table", "pump.curve"), "a measured table")
        return cast("tuple[tuple[float, float], ...] | None", self._held(key))

    def changed(self, by_key: Mapping[str, object] = _NOTHING, /, **values: object) -> Home:
        """Return the home with some values replaced, checked again.

        Parameters
        ----------
        by_key : mapping of str to object, optional
            New values by key, ``{"pit.depth": "24 in"}``.
        **values : object
            New values by key with two underscores for the point, ``pit__depth="24 in"``, or by
            section, ``pit={"depth": "24 in"}``; the other values of the section stay.

        Returns
        -------
        Home
            A new home; this one stays.

        Raises
        ------
        InputError
            As on reading a file.
        """
        data = self.model_dump(exclude_defaults=True)
        data.setdefault("name", self.name)
        changed = set()
        need_type(by_key, Mapping, "home", 'give values by key, such as {"pit.depth": "24 in"}')
        for key, value in {**by_key, **values}.items():
            section, _, name = str(key).replace(".", "__", 1).partition("__")
            entries = {name: value} if name else value
            before = data.get(section, {})
            if isinstance(entries, Mapping) and isinstance(before, Mapping):
                data[section] = {**before, **entries}
                changed |= {f"{section}.{entry}" for entry in entries}
            else:
                data[section] = entries  # told as wrong where it is not a section
                changed.add(section)
        made = _validate(data, "home", frozenset(changed))
        made._folder = self._folder
        return made.changed_from(self.as_observed) if self.is_as_seen else made

    def assess(
        self,
        rain: riskkit.DesignRain | DepthDurationFrequency | RainRecord | None = None,
        settings: riskkit.Settings | None = None,
        *,
        progress: Callable[[str], None] | None = None,
    ) -> riskkit.Assessment:
        """Answer for the home, see `riskkit.assess`.

        Parameters
        ----------
        rain : DesignRain, DepthDurationFrequency or RainRecord, optional
            Rain of its place; that of the files which it names where it is left out.
        settings : Settings, optional
            How to work it out.
        progress : callable, optional
            Told in words what is being done.

        Returns
        -------
        Assessment
            The answer.

        Raises
        ------
        InputError
            Where there is no rain, or the home cannot be.
        """
        return riskkit.assess(self, rain, settings, progress=progress)


def load_home(path: Path | str, *, outside: bool = False) -> Home:
    """Read a home file.

    Parameters
    ----------
    path : Path or str
        A TOML file.
    outside : bool
        Whether the home may name files outside its folder and the stored rain.

    Returns
    -------
    Home
        The home.

    Raises
    ------
    InputError
        In one sentence the first thing that is wrong, and how many more there are.
    """
    need_type(path, (str, Path), "home", 'give the path of a home file, such as "home.toml"')
    path = Path(path)
    home, folder = read_home(read_text(path), path.name), path.parent.absolute()
    return home.in_folder(folder, outside=outside, file=path.name)


@lru_cache(maxsize=4)  # to save a change the same text is read before and after
def read_home(text: str, name: str) -> Home:
    """Read the text of a home file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What messages call it.

    Returns
    -------
    Home
        The home.

    Raises
    ------
    InputError
        As `load_home`.
    """
    data = read_toml(text, name)
    home = home_of(data, name)
    entered = entered_by_visits(home) if data.get("format", 1) != FORMAT else ()
    return home.changed(**dict.fromkeys(entered, UNKNOWN)) if entered else home


def home_of(data: dict[str, Any], name: str) -> Home:
    """Make a home of plain data.

    Parameters
    ----------
    data : dict
        As in a home file, or as a home is dumped.
    name : str
        What messages call it; empty where they stand beside it.

    Returns
    -------
    Home
        The home.

    Raises
    ------
    InputError
        As `load_home`.
    """
    return _validate(data, name)


def check_home(path: Path | str) -> tuple[InputError, ...]:
    """List everything that is wrong with a home file.

    Parameters
    ----------
    path : Path or str
        A TOML file.

    Returns
    -------
    tuple of InputError
        Empty where nothing is.

    Raises
    ------
    InputError
        Where the file cannot be read as TOML at all.
    """
    return _problems(read_toml(read_text(Path(path)), Path(path).name))[1]


def _validate(data: dict[str, Any], name: str, changed: frozenset[str] = frozenset()) -> Home:
    home, problems = _problems(data, changed)
    if home is not None and not problems:
        return home
    first, n_more = problems[0], len(problems) - 1
    count = f"{n_more}" if n_more < _MOST_FAULTS else f"at least {_MOST_FAULTS}"
    raise first.within(name, f" (and {count} more)" if n_more else "")


def _problems(
    data: dict[str, Any], changed: frozenset[str] = frozenset()
) -> tuple[Home | None, tuple[InputError, ...]]:
    unread = newer_format(data) or nested_too_deeply(data)
    if unread is not None:
        return None, (unread,)
    unprintable = tuple(control_characters(data))
    if unprintable:
        return None, unprintable
    try:
        data = with_new_keys(data)
    except InputError as error:
        return None, (error,)
    try:
        home = Home.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[:_MOST_FAULTS]
        entries = sorted(first, key=lambda entry: place_in(data, entry["loc"]))
        found = tuple(problem_of(dict(entry), Home) for entry in entries)
        n_more = error.error_count() - len(found)
        more = InputError("home", f"{n_more:,} more faults are in it", "") if n_more else None
        return None, (*found, more) if more else found
    return home, tuple(contradictions(home, changed))
