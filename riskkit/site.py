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

import difflib
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast, get_args

from pydantic import BaseModel, Field, ValidationError, create_model

from riskkit._fields import Part, choice_field, pairs_field, quantity_field
from riskkit._toml import put_tables
from riskkit.errors import InputError
from riskkit.files import read_text, write_text
from riskkit.quantity import UNKNOWN, Basis, Quantity
from riskkit.tables import load_table
from riskkit.variables import choices, variables
from riskkit.visits import Visit

__all__ = ["Basis", "Problem", "Quantity", "Site", "check_site", "load_site", "save_site"]


class Place(Part):
    """Where the home stands."""

    latitude: float | None = Field(None, ge=-90, le=90, description="degrees north")
    longitude: float | None = Field(None, ge=-180, le=180, description="degrees east")


class Rain(Part):
    """Files of rain, beside the home file."""

    record: str | None = Field(None, description="rain record, a CSV file")
    table: str | None = Field(None, description="official table of depths, a CSV file")
    temperature: str | None = Field(None, description="daily temperatures, a CSV file")

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files that are given."""
        return tuple(name for name in (self.record, self.table, self.temperature) if name)


_SECTIONS = ("house", "roof", "ground", "pit", "gravel", "drain", "switch", "pump", "pipe")
TEXTURES = tuple(row["texture"] for row in load_table("soils").rows)
FEELS = {row["feel"]: row["words"] for row in load_table("soil_feel").rows}


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
    if name == "pit":  # depth below the floor, and the water that the pit holds below it
        fields["table"] = pairs_field(
            "pit.table", ("m", "m3"), '[["0 in", "26 gal"], ["24 in", "0 gal"]]'
        )
    if name == "pump":
        fields["curve"] = pairs_field(
            "pump.curve", ("m3/s", "m"), '[["0 gpm", "22 ft"], ["43 gpm", "10 ft"]]'
        )
    return create_model(name.capitalize(), __base__=Part, **fields)


if TYPE_CHECKING:  # the type checker sees the sections as plain parts; see `Site.quantity`
    House = Part
    Roof = Part
    Ground = Part
    Pit = Part
    Gravel = Part
    Drain = Part
    Switch = Part
    Pump = Part
    Pipe = Part
else:
    House, Roof, Ground, Pit, Gravel, Drain, Switch, Pump, Pipe = map(_section, _SECTIONS)


class Site(Part):
    """A home: what is known of it. Frozen; see `load_site` and `Site.changed`."""

    format: Literal[1] = Field(1, description="version of the home file")
    name: str = Field("a home", min_length=1, max_length=120, description="what to call it")
    note: str = Field("", max_length=4000, description="free text")
    place: Place = Field(default_factory=Place)
    rain: Rain = Field(default_factory=Rain)
    house: House = Field(default_factory=House)
    roof: Roof = Field(default_factory=Roof)
    ground: Ground = Field(default_factory=Ground)
    pit: Pit = Field(default_factory=Pit)
    gravel: Gravel = Field(default_factory=Gravel)
    drain: Drain = Field(default_factory=Drain)
    switch: Switch = Field(default_factory=Switch)
    pump: Pump = Field(default_factory=Pump)
    pipe: Pipe = Field(default_factory=Pipe)
    visit: tuple[Visit, ...] = Field((), max_length=500, description="visits, as [[visit]]")

    def quantity(self, key: str) -> Quantity | None:
        """Return a value, or None where it is unknown.

        Parameters
        ----------
        key : str
            Section and key, such as ``"pit.depth"``.

        Returns
        -------
        Quantity or None
            The value as given.
        """
        section, name = key.split(".")
        return cast("Quantity | None", getattr(getattr(self, section), name))

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

    def changed(self, **values: object) -> Site:
        """Return the home with some values replaced, checked again.

        Parameters
        ----------
        **values : object
            New values by key with two underscores for the point: ``pit__depth="24 in"``.

        Returns
        -------
        Site
            A new home; this one stays.

        Raises
        ------
        InputError
            As on reading a file.
        """
        data = self.model_dump(exclude_defaults=True)
        data.setdefault("name", self.name)
        for key, value in values.items():
            section, _, name = key.partition("__")
            if name:
                data.setdefault(section, {})[name] = value
            else:
                data[section] = value
        return _validate(data, "home")


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with a home file."""

    where: str
    what: str
    right: str


def load_site(path: Path | str) -> Site:
    """Read a home file.

    Parameters
    ----------
    path : Path or str
        A TOML file.

    Returns
    -------
    Site
        The home.

    Raises
    ------
    InputError
        In one sentence the first thing that is wrong, and how many more there are.
    """
    return _validate(_read_toml(Path(path)), Path(path).name)


def check_site(path: Path | str) -> tuple[Problem, ...]:
    """List everything that is wrong with a home file.

    Parameters
    ----------
    path : Path or str
        A TOML file.

    Returns
    -------
    tuple of Problem
        Empty where nothing is.

    Raises
    ------
    InputError
        Where the file cannot be read as TOML at all.
    """
    return _problems(_read_toml(Path(path)))[1]


def save_site(site: Site, path: Path | str) -> None:
    """Write a home file; comments, order and layout of an existing one are kept.

    Parameters
    ----------
    site : Site
        The home.
    path : Path or str
        The file; written whole or not at all.

    Raises
    ------
    InputError
        Where the file cannot be read or written.
    """
    import tomlkit

    path = Path(path)
    document = tomlkit.document()
    if path.exists():
        before, problems = _problems(_read_toml(path))
        if before is None:
            raise InputError(f"{path.name}, {problems[0].where}", problems[0].what)
        document = tomlkit.parse(read_text(path))
    old = Site.model_validate(document.unwrap()).model_dump(exclude_defaults=True)
    new = site.model_dump(exclude_defaults=True) | {"format": 1, "name": site.name}
    put_tables(document, "visit", old.pop("visit", ()), new.pop("visit", ()))
    for section in dict.fromkeys([*old, *new]):
        if not isinstance(new.get(section, old.get(section)), dict):
            _put(document, section, old, new)
            continue
        table = document.setdefault(section, tomlkit.table())
        before, after = old.get(section, {}), new.get(section, {})
        for key in dict.fromkeys([*before, *after]):
            _put(table, key, before, after)
    write_text(path, tomlkit.dumps(document))


def _put(table: Any, key: str, old: dict[str, Any], new: dict[str, Any]) -> None:
    if key in new and (key not in table or new[key] != old.get(key)):
        value = new[key]
        if key in ("curve", "table") and isinstance(value, tuple):
            units = ("m3/s", "m") if key == "curve" else ("m", "m3")
            value = [[f"{v:.9g} {u}" for v, u in zip(pair, units, strict=True)] for pair in value]
        table[key] = value
    elif key not in new and key in table and key in old:
        del table[key]


def _read_toml(path: Path) -> dict[str, Any]:
    text = read_text(path)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            path.name,
            f"it is not TOML: {_lower_first(str(error))}",
            'a line looks like diameter = "18 in"',
        ) from None
    except RecursionError:
        raise InputError(path.name, "its brackets are nested too deeply") from None
    except ValueError:  # Python reads no number of thousands of digits
        raise InputError(path.name, "a number in it has too many digits") from None


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def _validate(data: dict[str, Any], name: str) -> Site:
    site, problems = _problems(data)
    if site is not None and not problems:
        return site
    first = problems[0]
    more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
    raise InputError(f"{name}, {first.where}", first.what + more, first.right)


def _problems(data: dict[str, Any]) -> tuple[Site | None, tuple[Problem, ...]]:
    try:
        site = Site.model_validate(data)
    except ValidationError as error:
        return None, tuple(_problem(dict(entry)) for entry in error.errors())
    return site, tuple(_contradictions(site))


def _problem(entry: dict[str, Any]) -> Problem:
    path = [str(part) for part in entry["loc"]]
    where, context = ".".join(path), entry.get("ctx", {})
    if path[0] == "visit":
        where = _visit_where(entry["loc"])
    if entry["type"] == "riskkit":
        return Problem(
            where if path[0] == "visit" else context["where"], context["what"], context["right"]
        )
    if entry["type"] == "extra_forbidden":
        known = _known_keys(entry["loc"][:-1])
        near = difflib.get_close_matches(path[-1], known, n=1)
        right = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(known)}"
        return Problem(where, "there is no such key", right)
    if entry["type"] == "literal_error":
        return Problem(where, f"{entry['input']!r} is not right", f"it is {context['expected']}")
    if entry["type"] in ("model_type", "model_attributes_type"):
        return Problem(where, "this is not a section", f"write [{where}] on a line of its own")
    if entry["type"] == "tuple_type":
        return Problem(where, "this is not a list", f"write [[{path[-1]}]], with two brackets")
    if entry["type"] == "missing":
        return Problem(where, "it is missing", f'write it like {path[-1]} = "…"')
    return Problem(where, _lower_first(entry["msg"]), "see the example homes")


def _visit_where(path: tuple[str | int, ...]) -> str:
    """Name a place in the visits, counted from one: "visit 2, wall 1, size"."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int):
            words[-1] += f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words)


def _known_keys(path: tuple[str | int, ...]) -> list[str]:
    part: type[BaseModel] = Site
    for name in path:
        if isinstance(name, str):
            part = next(_parts_in(part.model_fields[name].annotation))
    return list(part.model_fields)


def _parts_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """The sections within a type such as ``tuple[Visit, ...]``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _parts_in(inner)


def _contradictions(site: Site) -> Iterator[Problem]:
    """Say in words what cannot be true together."""

    def value(key: str) -> float | None:
        found = site.quantity(key)
        return found.value if found else None

    def text(key: str) -> str:
        found = site.quantity(key)
        return found.text if found else UNKNOWN

    deeper = [
        ("switch.off", "switch.on", "the pump would stop before it starts"),
        ("switch.on", "switch.alarm", "the alarm would sound in every ordinary cycle"),
        ("pit.depth", "switch.off", "the pump would have to empty the pit below its bottom"),
    ]
    for lower, upper, why in deeper:
        low, high = value(lower), value(upper)
        if low is not None and high is not None and low <= high:
            yield Problem(
                lower,
                f"{text(lower)} is not deeper than {upper} ({text(upper)}), so {why}",
                "depths are measured down from the basement floor",
            )
    if site.rain.temperature is not None and site.place.latitude is None:
        yield Problem(
            "rain.temperature",
            "how much water grass uses depends on the latitude, and none is given",
            "write it under [place], such as latitude = 41.2",
        )
    wall, drain = value("roof.at_wall"), value("roof.to_drain")
    if wall is not None and drain is not None and wall + drain > 1 + 1e-9:
        yield Problem("roof.at_wall", "with roof.to_drain it is more than all downspouts", "")
    rated, shutoff = value("pump.rated_head"), value("pump.shutoff_head")
    if rated is not None and shutoff is not None and rated >= shutoff:
        yield Problem(
            "pump.shutoff_head",
            f"{text('pump.shutoff_head')} is not above pump.rated_head ({text('pump.rated_head')})",
            "the shut-off head is the greatest lift, where the flow is zero",
        )
    sides = [value("pit.length"), value("pit.width")]
    if any(sides) and not all(sides):
        yield Problem("pit.length", "a rectangular pit needs pit.length and pit.width", "")
    if any(sides) and value("pit.diameter") is not None:
        yield Problem("pit.diameter", "the pit is round or rectangular, not both", "leave one out")
    bottom, top = value("pit.bottom_diameter"), value("pit.diameter")
    if bottom is not None and top is None:
        yield Problem("pit.bottom_diameter", "a tapered pit needs pit.diameter (at the top)", "")
