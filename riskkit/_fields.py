"""Building blocks of the home file: sections and fields that say in words what is wrong."""

from __future__ import annotations

import difflib
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, PlainSerializer, PlainValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from riskkit.climate import Climate, read_climate
from riskkit.errors import InputError
from riskkit.quantity import UNKNOWN, Quantity, examples, read_quantity, shown
from riskkit.units import convert, parse_quantity
from riskkit.variables import Variable

_MOST_PAIRS = 200
_LEAST_STEP = 1e-6  # of the largest value that can be
_SHOWN = {"m": "ft", "m3": "gal", "m3/s": "gpm"}


def quantity_field(item: Variable) -> Any:
    def validate(written: object) -> Quantity | None:
        try:
            return read_quantity(written, item, item.key)
        except InputError as error:
            raise field_error(error) from None

    span = item.range_text(" and ")
    schema = {
        "type": ["string", "number"] if item.unit == "1" else "string",
        "description": f"{item.words}; between {span}. Unknown: {item.unknown.words}.",
        "examples": [*examples(item), f"about {examples(item)[0]}"],
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
        if written is None or str(written).strip().lower() == UNKNOWN:
            return None
        try:
            return read_climate(written, key)
        except InputError as error:
            raise field_error(error) from None

    schema = {
        "type": "string",
        "description": "change of the climate on which design depths are raised: kelvins of "
        "warming, 7 % more rain for each, or per cent that the local authority adds",
        "examples": ["2 K", "20 %"],
    }
    return Annotated[
        Climate | None,
        PlainValidator(validate),
        PlainSerializer(lambda value: value.text if value else UNKNOWN),
        WithJsonSchema(schema),
    ]


def choice_field(key: str, options: tuple[str, ...], words: str) -> Any:
    def validate(written: object) -> str | None:
        if not isinstance(written, str) or written.strip().lower() not in (*options, UNKNOWN):
            known = ", ".join(f'"{option}"' for option in options)
            near = difflib.get_close_matches(str(written).lower(), options, n=1)
            hint = f'did you mean "{near[0]}"? It' if near else "it"
            raise field_error(
                InputError(
                    key, f"{shown(written)} is not a choice", f'{hint} is {known} or "unknown"'
                )
            )
        text = written.strip().lower()
        return None if text == UNKNOWN else text

    schema = {"enum": [*options, UNKNOWN], "description": words}
    return (Annotated[str | None, PlainValidator(validate), WithJsonSchema(schema)], None)


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
            one, two = (parse_quantity(str(v), u, where) for v, u in zip(pair, units, strict=True))
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


def field_error(error: InputError) -> PydanticCustomError:
    context = {"where": error.where, "what": error.what, "right": error.right}
    return PydanticCustomError("riskkit", "{what}", context)


class Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
