"""Sections of the home file, as the table of quantities names them, and what stands before them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from pydantic import Field, create_model

from riskkit.home._fields import (
    Part,
    amount_field,
    blank,
    choice_field,
    climate_field,
    currency_field,
    degrees_field,
    file_field,
    pairs_field,
    quantity_field,
    year_field,
)
from riskkit.quantities.backup import backup_choices, backup_quantities
from riskkit.quantities.climate import Climate
from riskkit.quantities.variables import choices, variables
from riskkit.tables import load_table

__all__ = ["AMOUNTS", "AREAS", "FEELS", "TEXTURES", "Place", "Rain", "Sections"]

AREAS = tuple(dict.fromkeys(row["area"].lower() for row in load_table("outages").rows))
"""Areas of the outage statistics, as a home file may name them."""

if TYPE_CHECKING:  # the type checker sees what the fields hold, pydantic how they are read
    _AREA: TypeAlias = str | None
    _CLIMATE = Climate | None
    _LATITUDE: TypeAlias = float | None
    _LONGITUDE: TypeAlias = float | None
    _RECORD: TypeAlias = str | None
    _TABLE: TypeAlias = str | None
    _TEMPERATURE: TypeAlias = str | None
else:
    _AREA, _ = choice_field("place.area", AREAS, "area of the outage statistics")
    _CLIMATE = climate_field("rain.climate")
    _LATITUDE = degrees_field("place.latitude")
    _LONGITUDE = degrees_field("place.longitude")
    _RECORD, _TABLE = file_field("rain.record"), file_field("rain.table")
    _TEMPERATURE = file_field("rain.temperature")


class Place(Part):
    """Where the home stands."""

    latitude: _LATITUDE = None
    longitude: _LONGITUDE = None
    area: _AREA = None


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


TEXTURES = tuple(row["texture"] for row in load_table("soils").rows)
FEELS = {row["feel"]: row["words"] for row in load_table("soil_feel").rows}


AMOUNTS = {
    row["key"]: row["words"]
    for table in ("prices", "remedy_costs")
    for row in load_table(table).rows
} | {"structure_value": "the structure of the house, its value"}
"""Amounts of money that a home file may hold, each in words."""


def _most(key: str) -> float:
    return variables()[key].high


def _section(name: str) -> type[Part]:
    fields: dict[str, Any] = {
        item.key.split(".")[1]: quantity_field(item)
        for item in (*variables().values(), *backup_quantities().values())
        if item.section == name
    }
    for key, options in backup_choices().items():
        if key.split(".")[0] == name:
            meant = "; ".join(f"{option}: {words}" for option, words in options.items())
            fields[key.split(".")[1]] = choice_field(key, tuple(options), meant)
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
    if name == "costs":
        fields["currency"], fields["price_year"] = (
            currency_field("costs.currency"), year_field("costs.price_year"),
        )  # fmt: skip
        fields |= {key: amount_field(f"costs.{key}", words) for key, words in AMOUNTS.items()}
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
    return create_model(_class_name(name), __base__=Part, __module__=__name__, **fields)


def _class_name(section: str) -> str:
    return section.title().replace("_", "")


class _Head(Part):
    """What stands before the sections of quantities."""

    format: Literal[1, 2] = Field(1, description="version of the home file")
    name: str = Field("a home", min_length=1, max_length=120, description="what to call it")
    note: str = Field("", max_length=4000, description="free text")
    place: Place = Field(default_factory=blank(Place))
    rain: Rain = Field(default_factory=blank(Rain))


def _with_sections() -> type[_Head]:
    """Add a section for each that the tables of quantities name, in their order."""
    items = (*variables().values(), *backup_quantities().values())
    names = dict.fromkeys(item.section for item in items)
    sections = {name: _section(name) for name in names}
    # pickle looks a class up by its name in its module, so that homes go to other processes
    globals().update({_class_name(name): section for name, section in sections.items()})
    fields: dict[str, Any] = {
        name: (section, Field(default_factory=blank(section))) for name, section in sections.items()
    }
    return create_model("Sections", __base__=_Head, __module__=__name__, **fields)


if TYPE_CHECKING:  # a section is asked by its key, see `Home.quantity`
    Sections = _Head
else:
    Sections = _with_sections()
