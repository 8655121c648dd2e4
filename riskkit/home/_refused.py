"""What the validator of a home file refuses, in the words of the people who write one."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

from riskkit.errors import FileLine, InputError, Words
from riskkit.quantities.quantity import shown
from riskkit.quantities.text import brief

_LISTS = ("visit", "observation")  # of which a home has several


def problem_of(entry: dict[str, Any], root: type[BaseModel]) -> InputError:
    """Put into our words what pydantic found."""
    if not entry["loc"]:  # of the whole of a visit or an observation that was made by hand
        context = entry.get("ctx", {})
        what, right = context.get("what", "it is not right"), context.get("right", "")
        return InputError(context.get("where", root.__name__.lower()), what, right)
    found = _problem(entry, root)
    if entry["loc"][0] in _LISTS:
        keys = [part for part in entry["loc"] if isinstance(part, str)]
        within = entry.get("ctx", {}).get("where", keys[-1])
        found.field = ".".join(keys if within == keys[-1] else [*keys, within])
    return found


def _problem(entry: dict[str, Any], root: type[BaseModel]) -> InputError:
    path = [brief(str(part), 60) for part in entry["loc"]]
    where, context = ".".join(path), entry.get("ctx", {})
    kind, what = entry["type"], shown(entry["input"])
    in_list = path[0] in _LISTS
    if in_list:
        where = _entry_where(entry["loc"])
    if kind == "riskkit":
        if path[0] == "observation" and context["where"] not in where.split(", "):
            where = f"{where}, {context['where']}"  # found when its keys were held together
        return InputError(where if in_list else context["where"], context["what"], context["right"])
    if kind == "extra_forbidden":
        known = _known_keys(entry["loc"][:-1], root)
        near = difflib.get_close_matches(path[-1], known, n=1)
        right = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(known)}"
        return InputError(where, "there is no such key", right)
    if kind in ("model_type", "model_attributes_type"):
        names = ".".join(part for part in entry["loc"] if isinstance(part, str))
        return InputError(where, "this is not a section", f"write [{names}] on a line of its own")
    if kind == "tuple_type":
        if len(path) == 1 or path[-1] == "wall":
            return InputError(
                where, "this is not a list", f"write [[{path[-1]}]], with two brackets"
            )
        return InputError(where, f"{what} is not a list", f'write it like {path[-1]} = ["…", "…"]')
    if kind == "missing":
        return InputError(where, "it is missing", _line(path[-1]))
    if kind == "string_type":
        in_list = isinstance(entry["loc"][-1], int)
        right = 'write it like "…"' if in_list else _line(path[-1])
        return InputError(where, f"{what} is not text", right)
    if kind == "string_too_short":
        return InputError(where, "it is empty", _line(path[-1]))
    if kind == "string_too_long":
        letters = f"at most {context['max_length']} letters"
        return InputError(where, f"it is {len(entry['input'])} letters long", letters)
    if kind == "too_long":
        return InputError(where, "there are too many of them", f"at most {context['max_length']}")
    return InputError(where, f"{what} is not right", "see the example homes")


def _entry_where(path: tuple[str | int, ...]) -> str:
    """Name a place in the visits or observations, counted from one: "visit 2, wall 1, size"."""
    words: list[str] = []
    for part in path:
        if isinstance(part, int):
            words[-1] += f" {part + 1}"
        else:
            words.append(brief(part, 60))
    return ", ".join(words)


def _known_keys(path: tuple[str | int, ...], part: type[BaseModel]) -> list[str]:
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


def _line(name: str) -> Words:
    return Words(FileLine(f'write it like {name} = "…"', name))
