"""Building blocks of the home file: sections and fields that say in words what is wrong."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    ValidationError,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError

from riskkit.errors import InputError
from riskkit.home._refused import problem_of
from riskkit.limits import MOST_MONEY
from riskkit.quantities.climate import Climate, read_climate
from riskkit.quantities.components import NONE, absent_words, component_of, says_none
from riskkit.quantities.quantity import UNKNOWN, Quantity, examples, read_quantity, shown
from riskkit.quantities.text import VALUE, plain_text
from riskkit.quantities.units import MOST_LETTERS, convert, parse_quantity, tidied, with_unit
from riskkit.quantities.variables import Variable, said_limit

MOST_BYTES_OF_NAME = 255  # on nearly every disk
_MOST_LETTERS_OF_PATH = 1000
_MOST_PAIRS = 200
_LEAST_STEP = 1e-6  # of the largest value that can be
_NEAR = 0.1  # of the value of a choice: as far as one is rounded
_FIRST_YEAR, _LAST_YEAR = 1950, 2100
_SHOWN = {"m": "ft", "m3": "gal", "m3/s": "gpm"}


def quantity_field(item: Variable) -> Any:
    @lru_cache(maxsize=64)  # a page reads all texts of its home again with each change
    def read_text(text: str) -> Quantity | None:
        return read_quantity(text, item, item.key)

    def validate(written: object) -> Quantity | None:
        try:
            if isinstance(written, str):
                return read_text(written)
            return read_quantity(written, item, item.key)
        except InputError as error:
            raise field_error(error) from None

    span, part = item.range_text(" and "), component_of(item.key)
    none = "" if part is None else f' "{NONE}": {absent_words(part)}.'
    schema = {
        "type": ["string", "number"] if item.unit == "1" else "string",
        "description": f"{item.words}; between {span}. Unknown: {item.unknown.words}.{none}",
        "examples": [*examples(item), f"about {examples(item)[0]}", *([NONE] if none else [])],
    }
    kind = Annotated[
        Quantity | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.text if value else UNKNOWN),
        WithJsonSchema(schema),
    ]
    return (kind, None)


def climate_field(key: str) -> Any:
    def validate(written: object) -> Climate | None:
        if written is None or (isinstance(written, str) and written.strip().lower() == UNKNOWN):
            return None
        try:
            return read_climate(written, key)
        except InputError as error:
            raise field_error(error) from None

    schema = {
        "type": "string",
        "description": "change of the climate on which design depths are raised: warming, with 7 % "
        "more rain for each kelvin, or per cent that the local authority adds",
        "examples": ["2 °C", "3.6 °F", "20 %"],
    }
    return Annotated[
        Climate | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.text if value else UNKNOWN),
        WithJsonSchema(schema),
    ]


_DEGREES = re.compile(
    r"""(?P<before>[NSEW])?\s*(?P<sign>[-+]?)\s*(?P<whole>\d{1,3}(?:\.\d*)?)\s*(?:°|deg(?:rees?)?)?
    \s*(?:(?P<minutes>\d{1,2}(?:\.\d*)?)\s*')?\s*(?:(?P<seconds>\d{1,2}(?:\.\d*)?)\s*")?
    \s*(?P<after>N|S|E|W|north|south|east|west)?""",
    re.ASCII | re.IGNORECASE | re.VERBOSE,
)
_AXES = {
    "place.latitude": ("latitude", "NS", 90.0, '41.2 or "41.2 N"', "degrees north"),
    "place.longitude": ("longitude", "EW", 180.0, '-89.4 or "89.4 W"', "degrees east"),
}


def read_degrees(written: object, key: str) -> float | None:
    name, letters, most, example, _ = _AXES[key]
    right = f"write degrees such as {example}"
    if isinstance(written, str) and written.strip().lower() == UNKNOWN:
        return None
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        raise InputError(key, f"{shown(written)} is not a {name}", right)
    if isinstance(written, str):
        degrees = _degrees_of(tidied(written), name, letters, key, right)
    elif isinstance(written, float) and math.isinf(written):
        raise InputError(key, "the number is too large", right)
    elif isinstance(written, float) and math.isnan(written):
        raise InputError(key, f"{written} is not a number", right)
    else:
        degrees = written  # whole numbers of any length can be compared, but not all turned
    if abs(degrees) > most:
        raise InputError(
            key, f"{shown(written)} cannot be", f"it lies between -{most:g} and {most:g}"
        )
    return float(degrees)


def _degrees_of(text: str, name: str, letters: str, key: str, right: str) -> float:
    found = _DEGREES.fullmatch(plain_text(text)) if len(text) <= MOST_LETTERS else None
    if found is None or (found["before"] and found["after"]):
        raise InputError(key, f"{shown(text)} is not a {name}", right)
    side = (found["before"] or found["after"] or "")[:1].upper()
    if side and side not in letters:
        other = "longitude" if name == "latitude" else "latitude"
        raise InputError(key, f"{text!r} is a {other}, not a {name}", right)
    if side and found["sign"]:
        raise InputError(key, f"{text!r} has a sign and a letter", f"{right}, with one of the two")
    minutes, seconds = (float(found[part] or 0) for part in ("minutes", "seconds"))
    if max(minutes, seconds) >= 60 or ("." in found["whole"] and (minutes or seconds)):
        raise InputError(key, f"{text!r} has no right minutes and seconds", right)
    size = float(found["whole"]) + minutes / 60 + seconds / 3600
    return -size if side in ("S", "W") or found["sign"] == "-" else size


def degrees_field(key: str) -> Any:
    def validate(written: object) -> float | None:
        try:
            return None if written is None else read_degrees(written, key)
        except InputError as error:
            raise field_error(error) from None

    name, letters, most, _, words = _AXES[key]
    schema = {
        "anyOf": [{"type": "number", "minimum": -most, "maximum": most}, {"type": "string"}],
        "description": f"{words}; as text also with {letters[0]} or {letters[1]}",
        "examples": [41.2, "41.2 N"] if name == "latitude" else [-89.4, "89.4 W"],
    }
    return Annotated[float | None, PlainValidator(validate), WithJsonSchema(schema)]


def choice_field(key: str, options: tuple[str, ...], words: str) -> Any:
    def validate(written: object) -> str | None:
        if NONE in options and says_none(written, key):
            return NONE
        if not isinstance(written, str) or written.strip().lower() not in (*options, UNKNOWN):
            known = ", ".join(f'"{option}"' for option in options)
            near = _nearest(shown(written).strip("'").lower(), options)
            hint = f'did you mean "{near}"? It' if near else "it"
            raise field_error(
                InputError(
                    key, f"{shown(written)} is not a choice", f'{hint} is {known} or "unknown"'
                )
            )
        text = written.strip().lower()
        return None if text == UNKNOWN else text

    schema = {"enum": [*options, UNKNOWN], "description": words}
    return (Annotated[str | None, PlainValidator(validate), WithJsonSchema(schema)], None)


def _nearest(text: str, options: tuple[str, ...]) -> str | None:
    """The option that was meant: by its value where all are values, else by its letters."""
    found = ((option, _size_of(option, option)) for option in options)
    sizes = {option: size for option, size in found if size is not None}
    size = _size_of(text, options[0])
    if size is None or len(sizes) < len(options):
        return next(iter(difflib.get_close_matches(text, options, n=1)), None)
    off = {option: abs(size - right) / right for option, right in sizes.items()}
    near = min(off, key=lambda option: off[option])
    return near if off[near] <= _NEAR else None


def _size_of(text: str, like: str) -> float | None:
    """The number of a text in the unit of another, such as 0.5 for "½ hp"; none where it has none.

    A text without a unit is taken to have that of the other.
    """
    value = VALUE.match(plain_text(like))
    if value is None:
        return None
    try:
        return parse_quantity(with_unit(text, value[3]), value[3] or "1", like)
    except InputError:
        return None


def _read_pairs(
    written: object, key: str, units: tuple[str, str], example: str, most: tuple[float, float]
) -> Any:
    """Read pairs of values, each with its unit; the second falls as the first grows."""
    right = f"write it like {example}"
    if not isinstance(written, list | tuple) or len(written) < 2:
        raise InputError(key, "it is not a list of at least two pairs", right)
    if len(written) > _MOST_PAIRS:
        raise InputError(key, f"it has {len(written)} pairs", f"at most {_MOST_PAIRS}")
    pairs = []
    for number, pair in enumerate(written, 1):
        where = f"{key}, entry {number}"
        if isinstance(pair, tuple):  # read before
            pairs.append(pair)
        elif isinstance(pair, list) and len(pair) == 2:
            texts = (v if isinstance(v, str) else shown(v) for v in pair)
            one, two = (parse_quantity(v, u, where) for v, u in zip(texts, units, strict=True))
            pairs.append((one, two))
        else:
            raise InputError(where, "it is not a pair", right)
    ordered = sorted(pairs)
    if any(pair[0] < 0 or pair[1] < 0 for pair in pairs):
        raise InputError(key, "a value is below zero", right)
    for i, unit in enumerate(units):
        largest = max(pair[i] for pair in pairs)
        if largest > most[i]:
            top, limit = (convert(v, unit, _SHOWN[unit]) for v in (largest, most[i]))
            limit = said_limit(limit, is_low=False)
            what = f"{top:.4g} {_SHOWN[unit]} is more than can be"
            raise InputError(key, what, f"it is at most {limit:.4g} {_SHOWN[unit]}")
    if any(b[0] <= a[0] or b[1] >= a[1] for a, b in pairwise(ordered)):
        raise InputError(key, "the second value must fall as the first one grows", right)
    steps = [(b[0] - a[0], a[1] - b[1]) for a, b in pairwise(ordered)]
    if any(step[i] < _LEAST_STEP * most[i] for step in steps for i in (0, 1)):
        raise InputError(key, "two entries are closer than anyone can measure", "leave one out")
    return tuple(ordered)


def pairs_field(key: str, units: tuple[str, str], example: str, most: tuple[float, float]) -> Any:
    def validate(written: object) -> Any:
        try:
            return _read_pairs(written, key, units, example, most)
        except InputError as error:
            raise field_error(error) from None

    schema = {"type": "array", "description": f"pairs such as {example}"}
    return (Annotated[Any, PlainValidator(validate), WithJsonSchema(schema)], None)


def _is_unknown(written: object) -> bool:
    return written is None or (isinstance(written, str) and written.strip().lower() == UNKNOWN)


def amount_field(key: str, words: str) -> Any:
    def validate(written: object) -> float | None:
        right = 'write a number without its currency, such as 1800 or "1,800"'
        if _is_unknown(written):
            return None
        text = written.strip().replace(",", "") if isinstance(written, str) else written
        try:
            if isinstance(text, bool) or not isinstance(text, str | int | float):
                raise ValueError
            amount = float(text)
        except (ValueError, OverflowError):
            raise field_error(
                InputError(key, f"{shown(written)} is no amount of money", right)
            ) from None
        if amount > MOST_MONEY:
            what = f"{shown(written)} is more than {MOST_MONEY:,.0f}"
            raise field_error(InputError(key, what, right))
        if not amount >= 0:  # below it, or not a number
            raise field_error(InputError(key, f"{shown(written)} is no amount of money", right))
        return amount

    schema = {"type": ["number", "string"], "description": f"cost of {words}; no currency in it"}
    return (Annotated[float | None, PlainValidator(validate), WithJsonSchema(schema)], None)


def currency_field(key: str) -> Any:
    def validate(written: object) -> str | None:
        if _is_unknown(written):
            return None
        if not isinstance(written, str) or not re.fullmatch(r"[A-Z]{3}", written.strip()):
            right = 'write three capitals, such as "USD"'
            raise field_error(InputError(key, f"{shown(written)} is not a currency code", right))
        return written.strip()

    schema = {"type": "string", "pattern": "^[A-Z]{3}$", "description": "currency of all costs"}
    return (Annotated[str | None, PlainValidator(validate), WithJsonSchema(schema)], None)


def year_field(key: str) -> Any:
    def validate(written: object) -> int | None:
        if _is_unknown(written):
            return None
        if type(written) is not int or not _FIRST_YEAR <= written <= _LAST_YEAR:
            what, right = f"{shown(written)} is no year of prices", "write it like 2026"
            raise field_error(InputError(key, what, right))
        return written

    schema = {
        "type": "integer", "minimum": _FIRST_YEAR, "maximum": _LAST_YEAR,
        "description": "year of the prices",
    }  # fmt: skip
    return (Annotated[int | None, PlainValidator(validate), WithJsonSchema(schema)], None)


def file_field(key: str) -> Any:
    def validate(name: str) -> str:
        longest = max(len(part.encode()) for part in re.split(r"[/\\]", name))
        if longest > MOST_BYTES_OF_NAME or len(name) > _MOST_LETTERS_OF_PATH:
            what = f"a name of {len(name)} letters is longer than that of any file"
            right = f"at most {MOST_BYTES_OF_NAME} bytes, and most letters take one"
            raise field_error(InputError(key, what, right))
        return name

    return Annotated[str, Field(min_length=1), AfterValidator(validate)] | None


def field_error(error: InputError) -> PydanticCustomError:
    context = {"where": error.where, "what": error.what, "right": error.right}
    return PydanticCustomError("riskkit", "{what}", context)


if TYPE_CHECKING:
    _Checked = BaseModel
else:

    class _Spoken(type(BaseModel)):
        """Says in the words of the home file what is wrong where a part is made by hand.

        Only a call comes here: parts of a home file are made by its validator, which says where
        each stands in the file.
        """

        def __call__(cls, *args: Any, **values: Any) -> Any:
            try:
                return super().__call__(*args, **values)
            except ValidationError as error:
                raise problem_of(dict(error.errors(include_url=False)[0]), cls) from None

    class _Checked(BaseModel, metaclass=_Spoken):
        def __setattr__(self, name: str, value: object) -> None:
            try:
                super().__setattr__(name, value)
            except ValidationError:
                right = "Home.changed returns a new home with other values"
                raise InputError(name, "it cannot be set in place", right) from None


_Section = TypeVar("_Section", bound=BaseModel)


def blank(section: type[_Section]) -> Callable[[], _Section]:
    """Make what a file has that leaves a section out: one for all homes, for it is frozen.

    There is nothing to check in it, so its validator need not be built.
    """

    @cache
    def make() -> _Section:
        return section.model_construct()

    return make


class Part(_Checked):
    """A section of the home file, or an entry of its lists. Frozen."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def __repr_args__(self) -> Iterator[tuple[str | None, Any]]:
        """Show what is given alone."""
        fields = type(self).model_fields
        for name, value in super().__repr_args__():
            if name not in fields or value != fields[name].get_default(call_default_factory=True):
                yield name, value
