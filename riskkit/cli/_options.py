"""Options that several commands have, and what is made of them."""

from __future__ import annotations

import argparse
import csv
import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.errors import InputError, RiskkitError
from riskkit.quantities.climate import Climate, read_climate

if TYPE_CHECKING:
    from riskkit.assessment import DesignRain, Pattern
    from riskkit.failures.circumstances import Circumstances
    from riskkit.failures.prices import Prices
    from riskkit.home.home import Home
    from riskkit.records import Series

_PATTERNS = {
    "alternating-block": "ALTERNATING_BLOCK",
    "type-i": "NRCS_I",
    "type-ia": "NRCS_IA",
    "type-ii": "NRCS_II",
    "type-iii": "NRCS_III",
    "first-quartile": "HUFF_1",
    "second-quartile": "HUFF_2",
    "third-quartile": "HUFF_3",
    "fourth-quartile": "HUFF_4",
    "uniform": "UNIFORM",
}
LOST = "there is another file of this name, which would be lost"
OTHER_NAME = "give another name, or take it away first"
_FIRST_YEAR, _LAST_YEAR = 1900, 2200  # of a day that an option names
PAGE, PICTURE, DRAWING, TABLE = (".html", ".htm"), (".svg", ".png"), (".svg",), (".csv",)
"""Endings of what commands write."""


def add_home(parser: argparse.ArgumentParser) -> None:
    """Add the home file."""
    parser.add_argument("home", type=Path, metavar="HOME", help="home file (TOML)")
    add_outside(parser)


def add_outside(parser: argparse.ArgumentParser) -> None:
    """Add the leave to read files that a home names outside its folder."""
    parser.add_argument("--outside", action="store_true",
                        help="allow the home file to name files outside its folder")  # fmt: skip


def with_leave(error: RiskkitError) -> str:
    """Say a refusal, and how the leave is given where a file lies outside the folder of a home."""
    leave = isinstance(error, InputError) and error.argument == "outside"
    return f"{str(error)[:-1]}, or allow it with --outside." if leave else str(error)


def add_home_and_rain(parser: argparse.ArgumentParser) -> None:
    """Add the home file, and rain that takes precedence over what it names."""
    add_home(parser)
    add_rain(parser)


def add_rain(parser: argparse.ArgumentParser) -> None:
    """Add rain that takes precedence over what a home file names."""
    parser.add_argument("--rain", type=Path, metavar="RECORD", help="rain record (CSV)")
    parser.add_argument("--table", type=Path, metavar="FILE", help="official table of depths (CSV)")
    add_official(parser)
    add_unit(parser)


def add_unit(parser: argparse.ArgumentParser) -> None:
    """Add the unit of a record."""
    parser.add_argument(
        "--unit", help="unit of the record where its file does not say, as in or mm"
    )


def add_official(parser: argparse.ArgumentParser) -> None:
    """Add the options for an official table that says nothing of itself."""
    parser.add_argument("--official-unit", metavar="UNIT",
                        help="unit of the official table where it does not say: in, mm, in/h or "
                        "mm/h")  # fmt: skip
    parser.add_argument("--official-series", metavar="SERIES",
                        choices=["annual maximum", "partial duration"],
                        help='what its return periods count: "annual maximum" or "partial '
                        'duration"')  # fmt: skip


def add_climate(parser: argparse.ArgumentParser) -> None:
    """Add the option for a changed climate."""
    parser.add_argument("--climate", metavar="CHANGE",
                        help='depths for a changed climate: "2 °C" or "3.6 °F" warmer, 7 %% '
                        'more rain per kelvin, or "20 %%" more rain')  # fmt: skip


def add_pattern(parser: argparse.ArgumentParser) -> None:
    """Add the shape of the storms."""
    parser.add_argument("--pattern", choices=list(_PATTERNS), default="alternating-block",
                        metavar="SHAPE",
                        help="temporal pattern of the design storms (default alternating-block): "
                        f"{', '.join(_PATTERNS)}"
                        )  # fmt: skip


def pattern_of(options: argparse.Namespace) -> Pattern:
    """Return the shape of the storms that the options ask for."""
    from riskkit.assessment import Pattern

    return Pattern[_PATTERNS[options.pattern]]


def add_circumstances(parser: argparse.ArgumentParser, draws: int = 256) -> None:
    """Add what is known of parts and people beyond the home file, and the draws."""
    parser.add_argument("--area", metavar="NAME",
                        help="area of the outage statistics, a state or region of the United "
                        "States (default the whole country)")  # fmt: skip
    parser.add_argument("--pump-age", type=float, metavar="YEARS",
                        help="age of the pump (default from the visit that replaced "
                        "it)")  # fmt: skip
    parser.add_argument("--visits-every", type=float, metavar="YEARS",
                        help="time between visits (default as in the home file)")  # fmt: skip
    parser.add_argument("--hears", type=float, metavar="SHARE",
                        help="chance that somebody hears the alarm, 0 to 1")  # fmt: skip
    parser.add_argument("--acts-after", type=float, metavar="MINUTES",
                        help="median time from the alarm until somebody removes the "
                        "water")  # fmt: skip
    parser.add_argument("--draws", type=int, default=draws,
                        help="variants of the home: a power of two from 16 to 16384 "
                        "(default %(default)s)")  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )


def add_flood_price(parser: argparse.ArgumentParser) -> None:
    """Add what water on the floor costs, and in which money."""
    parser.add_argument("--flood-price", type=float, metavar="MONEY",
                        help="cost of water on the floor once (default as in the home file, else "
                        "an invented figure)")  # fmt: skip
    parser.add_argument("--currency", metavar="CODE",
                        help="currency of the prices (default as in the home file, else USD)"
                        )  # fmt: skip


def prices_of(home: Home, options: argparse.Namespace) -> Prices | None:
    """Return the prices that the options tell, beside those of the home file; None without any."""
    from riskkit.failures.prices import Prices

    told = {key: getattr(options, f"{key}_price", None) for key in Prices.names()}
    told = {key: price for key, price in told.items() if price is not None}
    if not told and options.currency is None:
        return None
    currency = options.currency or home.currency or "USD"
    if (home.currency or "USD") == currency:
        for key in Prices.names():
            known = home.cost(key)
            if key not in told and known is not None:
                told[key] = known
    return Prices(**told, currency=currency)


def circumstances_of(options: argparse.Namespace) -> Circumstances:
    """Return what the options tell of parts and people."""
    from riskkit.failures.circumstances import Circumstances

    return Circumstances(
        **({} if options.area is None else {"area": options.area}),
        pump_age_yr=options.pump_age,
        visit_every_yr=options.visits_every,
        hears=options.hears,
        acts_after_min=options.acts_after,
    )


def add_units(parser: argparse.ArgumentParser) -> None:
    """Add the units of the reader."""
    parser.add_argument(
        "--units", choices=["us", "metric"], default="us", help="units of the output (default us)"
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add the choice of JSON."""
    parser.add_argument("--json", action="store_true", help="print JSON instead of tables")


def day(text: str) -> datetime.date:
    """Read a day; one from which no year can be reckoned on is refused."""
    try:
        read = datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a day; write it like 2026-04-14"
        ) from None
    if not _FIRST_YEAR <= read.year <= _LAST_YEAR:
        what = f"{read} is not in a year from {_FIRST_YEAR} to {_LAST_YEAR}"
        raise argparse.ArgumentTypeError(what)
    return read


def need_from_to(value: int | None, option: str, low: int, high: int, example: str) -> None:
    """Refuse a whole number outside its bounds, by the name of its option."""
    if value is not None and not low <= value <= high:
        raise InputError(option, f"{value} is not from {low} to {high:,}", f"such as {example}")


def need_crews(crews: int | None) -> None:
    """Refuse no crew, and more than there can be."""
    need_from_to(crews, "--crews", 1, 10_000, "4")


def checked_seed(seed: int) -> int:
    """Refuse a seed below zero."""
    if seed < 0:
        raise InputError("--seed", f"{seed} is below zero", "for example 1")
    return seed


def official_series(options: argparse.Namespace) -> Series | None:
    """Return the series of the official table that a person named."""
    from riskkit.records import Series

    return None if options.official_series is None else Series(options.official_series)


def wanted_climate(options: argparse.Namespace) -> Climate | None:
    """Return the change of the climate that a person named."""
    return None if options.climate is None else read_climate(options.climate, "--climate")


def rain_of(home: Home, options: argparse.Namespace, seed: int = 1) -> DesignRain:
    """Return the rain of a home: what the options name, or else the home file."""
    from riskkit.assessment import design_rain

    return design_rain(
        home,
        options.home.parent,
        record=options.rain,
        table=options.table,
        unit=options.unit,
        official_unit=options.official_unit,
        official_series=official_series(options),
        seed=seed,
        climate=wanted_climate(options),
    )


def rain_files(home: Home, path: Path) -> list[Path]:
    """Return the files that a home file names."""
    return [path.parent / name for name in home.files]


def need_apart(outputs: Sequence[Path | None], inputs: Iterable[Path | None]) -> None:
    """Refuse at once what could not be written in the end, or would overwrite what is read."""
    from riskkit.files import need_writable

    taken = [path for path in inputs if path is not None]
    for path in outputs:
        if path is not None:
            need_writable(path, taken)
            if path.suffix.lower() == ".toml":  # never over another home
                raise InputError(path.name, "this ends like a home file", "give another ending")
            taken.append(path)


def need_new(*paths: Path | None) -> None:
    """Refuse to write over a table of homes: somebody may have filled it in by hand."""
    for path in paths:
        if path is not None and path.exists():
            raise InputError(path.name, LOST, OTHER_NAME)


def need_ours(path: Path | None, head: Sequence[str]) -> None:
    """Refuse to write over a table that this command did not write: somebody may have no other.

    What it wrote itself begins with the same header; of workbooks none is written over.
    """
    if path is None or not path.exists():
        return
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            first = next(csv.reader([stream.readline(10_000)]), [])
    except (OSError, UnicodeDecodeError, csv.Error):
        first = []
    if path.suffix.lower() == ".xlsx" or first != list(head):
        raise InputError(path.name, LOST, OTHER_NAME)


def need_past(home: Home, path: Path) -> None:
    """Refuse a home with a visit in the future."""
    from riskkit.home.visits import need_past

    try:
        need_past(home.visit)
        need_past(home.observation, of="observation")
    except InputError as error:
        raise error.within(path.name) from None


def need_endings(options: argparse.Namespace, **endings: tuple[str, ...]) -> None:
    """Refuse a file to write without the ending of its format, by the name of its option."""
    for name, right in endings.items():
        path: Path | None = getattr(options, name)
        if path is not None and not path.name.lower().endswith(right):
            what = f"{path.name!r} does not end in {' or '.join(right)}"
            like = f"name it, for example, {path.stem + right[0]!r}"
            raise InputError(f"--{name.replace('_', '-')}", what, like)


def picture_bytes(path: Path, spec: dict[str, Any]) -> bytes:
    """Draw a chart in the form that the ending of its file says."""
    from riskkit.report.charts import to_png, to_svg

    svg = to_svg(spec)
    return to_png(svg) if path.suffix.lower() == ".png" else svg.encode("utf-8")


def degrees(text: str | None, option: str) -> tuple[float, float] | None:
    """Read a place like ``41.2,-88.6``; None where it is left out."""
    if text is None:
        return None
    from riskkit.home._fields import read_degrees

    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(option, f"{text!r} is not a place", "write it like 41.2,-88.6")
    try:
        north = read_degrees(parts[0].strip(), "place.latitude")
        east = read_degrees(parts[1].strip(), "place.longitude")
    except InputError as error:
        raise InputError(option, error.what, error.right) from None
    if north is None or east is None:
        raise InputError(option, f"{text!r} is not a place", "write it like 41.2,-88.6")
    return north, east
