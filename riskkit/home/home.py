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

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, cast

from pydantic import Field, ValidationError, create_model, field_validator

from riskkit.errors import InputError
from riskkit.files import read_text
from riskkit.home._fields import (
    Part,
    choice_field,
    climate_field,
    degrees_field,
    field_error,
    file_field,
    pairs_field,
    quantity_field,
)
from riskkit.home._problems import (
    contradictions,
    control_characters,
    nested_too_deeply,
    newer_format,
    place_in,
    problem_of,
)
from riskkit.home._toml import read_toml
from riskkit.home.visits import Visit
from riskkit.quantities.climate import Climate
from riskkit.quantities.components import NONE, Component, component_of, key_of
from riskkit.quantities.quantity import Basis, Quantity, shown
from riskkit.quantities.variables import choices, variables
from riskkit.tables import load_table

__all__ = [
    "Basis",
    "Home",
    "Quantity",
    "check_home",
    "home_of",
    "load_home",
    "overruled_choices",
    "read_home",
]


if TYPE_CHECKING:  # the type checker sees what the fields hold, pydantic how they are read
    _CLIMATE = Climate | None
    _LATITUDE: TypeAlias = float | None
    _LONGITUDE: TypeAlias = float | None
    _RECORD: TypeAlias = str | None
    _TABLE: TypeAlias = str | None
    _TEMPERATURE: TypeAlias = str | None
else:
    _CLIMATE = climate_field("rain.climate")
    _LATITUDE = degrees_field("place.latitude")
    _LONGITUDE = degrees_field("place.longitude")
    _RECORD, _TABLE = file_field("rain.record"), file_field("rain.table")
    _TEMPERATURE = file_field("rain.temperature")


class Place(Part):
    """Where the home stands."""

    latitude: _LATITUDE = None
    longitude: _LONGITUDE = None


class Rain(Part):
    """Files of rain, beside the home file, and how its depths are to be raised."""

    record: _RECORD = Field(None, description="rain record, a CSV file")
    table: _TABLE = Field(None, description="official table of depths, a CSV file")
    temperature: _TEMPERATURE = Field(None, description="daily temperatures, a CSV file")
    climate: _CLIMATE = None

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files that are given."""
        return tuple(name for name in (self.record, self.table, self.temperature) if name)


_MOST_FAULTS = 100  # that are told one by one
TEXTURES = tuple(row["texture"] for row in load_table("soils").rows)
FEELS = {row["feel"]: row["words"] for row in load_table("soil_feel").rows}


def _most(key: str) -> float:
    return variables()[key].high


def _section(name: str) -> type[Part]:
    fields: dict[str, Any] = {
        item.key.split(".")[1]: quantity_field(item)
        for item in variables().values()
        if item.section == name
    }
    for key, choice in choices().items():
        if key.split(".")[0] == name:
            words = "; ".join(
                f"{option}: {next(iter(spreads.values())).words}"
                for option, spreads in choice.options.items()
            )
            fields[key.split(".")[1]] = choice_field(key, tuple(choice.options), words)
    if name == "ground":
        fields["soil"] = choice_field("ground.soil", TEXTURES, "texture of the ground")
        feels = "; ".join(f"{feel}: {words}" for feel, words in FEELS.items())
        fields["feel"] = choice_field("ground.feel", tuple(FEELS), feels)
        fields["backfill"] = choice_field("ground.backfill", TEXTURES, "texture at the wall")
        words = "measured levels of the ground water, a CSV file beside the home file"
        fields["water_levels"] = (file_field("ground.water_levels"), Field(None, description=words))
    if name == "pit":  # depth below the floor, and the water that the pit holds below it
        fields["table"] = pairs_field(
            "pit.table",
            ("m", "m3"),
            '[["0 in", "26 gal"], ["24 in", "0 gal"]]',
            (_most("pit.depth"), _most("pit.depth") * _most("pit.length") * _most("pit.width")),
        )
    if name == "pump":
        fields["curve"] = pairs_field(
            "pump.curve",
            ("m3/s", "m"),
            '[["0 gpm", "22 ft"], ["43 gpm", "10 ft"]]',
            (_most("pump.rated_flow"), _most("pump.shutoff_head")),
        )
    return create_model(name.capitalize(), __base__=Part, **fields)


class _Head(Part):
    """What stands before the sections of quantities."""

    format: Literal[1] = Field(1, description="version of the home file")
    name: str = Field("a home", min_length=1, max_length=120, description="what to call it")
    note: str = Field("", max_length=4000, description="free text")
    place: Place = Field(default_factory=Place)
    rain: Rain = Field(default_factory=Rain)


def _with_sections() -> type[_Head]:
    """Add a section for each that the table of quantities names, in its order."""
    names = dict.fromkeys(item.section for item in variables().values())
    sections = {name: _section(name) for name in names}
    fields: dict[str, Any] = {
        name: (section, Field(default_factory=section)) for name, section in sections.items()
    }
    return create_model("_WithSections", __base__=_Head, **fields)


if TYPE_CHECKING:  # a section is asked by its key, see `Home.quantity`
    _WithSections = _Head
else:
    _WithSections = _with_sections()


class Home(_WithSections):
    """A home: what is known of it. Frozen; see `load_home` and `Home.changed`."""

    visit: tuple[Visit, ...] = Field((), max_length=500, description="visits, as [[visit]]")

    @field_validator("format", mode="before")
    @classmethod
    def _is_a_number(cls, written: object) -> object:
        if type(written) is not int or written != 1:  # true and 1.0 would pass for 1
            raise field_error(InputError("format", f"{shown(written)} is not right", "it is 1"))
        return written

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
        section, name = key.split(".")
        return cast("Quantity | None", getattr(getattr(self, section), name))

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
        section, name = key.split(".")
        return cast("str | None", getattr(getattr(self, section), name))

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
        section, name = key.split(".")
        return cast("tuple[tuple[float, float], ...] | None", getattr(getattr(self, section), name))

    def changed(self, **values: object) -> Home:
        """Return the home with some values replaced, checked again.

        Parameters
        ----------
        **values : object
            New values by key with two underscores for the point: ``pit__depth="24 in"``.

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
        changed = frozenset(key.replace("__", ".") for key in values)
        for key, value in values.items():
            section, _, name = key.partition("__")
            if name:
                data.setdefault(section, {})[name] = value
            else:
                data[section] = value
        return _validate(data, "home", changed)


def overruled_choices(home: Home) -> dict[str, str]:
    """Name the words that say something else than the number given beside them, which is used.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    dict of str to str
        Key of the number by key of the word, such as ``"pipe.bore"`` by ``"pipe.size"``.

    Examples
    --------
    >>> overruled_choices(Home().changed(pipe__size="2 in", pipe__bore="1.61 in"))
    {'pipe.size': 'pipe.bore'}
    """
    found = {}
    for key, choice in choices().items():
        for target, spread in choice.options.get(home.choice(key) or "", {}).items():
            given = home.quantity(target)
            if given is not None and not spread.p05 <= given.value <= spread.p95:
                found[key] = target
    return found


def load_home(path: Path | str) -> Home:
    """Read a home file.

    Parameters
    ----------
    path : Path or str
        A TOML file.

    Returns
    -------
    Home
        The home.

    Raises
    ------
    InputError
        In one sentence the first thing that is wrong, and how many more there are.
    """
    return read_home(read_text(Path(path)), Path(path).name)


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
    return home_of(read_toml(text, name), name)


def home_of(data: dict[str, Any], name: str) -> Home:
    """Make a home of plain data.

    Parameters
    ----------
    data : dict
        As in a home file, or as a home is dumped.
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
    first = problems[0]
    n_more = len(problems) - 1
    count = f"{n_more}" if n_more < _MOST_FAULTS else f"at least {_MOST_FAULTS}"
    raise first.within(name, f" (and {count} more)" if n_more else "")


def _problems(
    data: dict[str, Any], changed: frozenset[str] = frozenset()
) -> tuple[Home | None, tuple[InputError, ...]]:
    newer = newer_format(data)
    if newer is not None:
        return None, (newer,)
    nested = nested_too_deeply(data)
    if nested is not None:
        return None, (nested,)
    unprintable = tuple(control_characters(data))
    if unprintable:
        return None, unprintable
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
