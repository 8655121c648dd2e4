"""TOML: read with a sentence for what is wrong, lists of tables written so that comments stay."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from riskkit.errors import InputError
from riskkit.home.merge import pair_entries

# a key of more parts than any home has; the parser takes memory by the square of their number
_KEY = r"""(?:[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"(?:^|[\[{{,])[ \t]*+{_KEY}(?:[ \t]*+\.[ \t]*+{_KEY}){{50}}", re.MULTILINE)


def read_toml(text: str, name: str) -> dict[str, Any]:
    """Read TOML, or raise InputError; messages call it by the name."""
    if _LONG_KEY.search(text):
        raise InputError(name, "a key in it has more parts than any home has")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what = str(error)
        raise InputError(
            name,
            f"it is not TOML: {what[:1].lower()}{what[1:]}",
            'a line looks like diameter = "18 in"',
        ) from None
    except RecursionError:
        raise InputError(name, "its brackets are nested too deeply") from None
    except ValueError:  # Python reads no number of thousands of digits
        raise InputError(name, "a number in it has too many digits") from None


def put_tables(document: Any, key: str, old: Sequence[Any], new: Sequence[Any]) -> None:
    """Write a list of tables, such as ``[[visit]]``, given what the document holds of it now."""
    import tomlkit

    if list(old) == list(new):
        return
    if not new:
        document.pop(key, None)
        return
    tables = document.get(key)
    if tables is None:
        tables = tomlkit.aot()
        document.append(key, tables)
        tables = document[key]
    pairs = pair_entries(old, new)
    if list(pairs.values()) != sorted(pairs.values()):  # in another order: written anew in place
        pairs = {number: number for number in range(min(len(old), len(new)))}
    for number in reversed(range(len(old))):
        if number not in pairs:
            del tables[number]
    before = {after: number for number, after in pairs.items()}
    for number, entry in enumerate(new):
        if number not in before:
            table = _table(entry)
            if not tables and not document.as_string().endswith("\n\n"):
                table.trivia.indent = "\n"  # a blank line before the first
            tables.insert(number, table)
        elif old[before[number]] != entry:
            _renew(tables[number], old[before[number]], entry)


def _renew(table: Any, old: Mapping[str, Any], new: Mapping[str, Any], name: str = "") -> None:
    fresh = _table(new, name)
    for key in dict.fromkeys([*old, *new]):
        if key not in new:
            table.pop(key, None)
        elif old.get(key) != new[key]:
            if isinstance(new[key], Mapping) and key in table and _can_be_renewed(table[key], key):
                _renew(table[key], old.get(key, {}), new[key], key)
            else:
                table[key] = fresh[key]


_ON_A_LINE = "checks"  # the section whose own sections stand on one line each


def _can_be_renewed(item: Any, key: str) -> bool:
    """Whether a key may be put into a section as it stands: none may follow its own sections."""
    from tomlkit.items import InlineTable, Table

    if isinstance(item, InlineTable) or not isinstance(item, Mapping):
        return False
    return key != _ON_A_LINE or not any(isinstance(value, Table) for value in item.values())


def _table(data: Mapping[str, Any], name: str = "") -> Any:
    import tomlkit

    table = tomlkit.table()
    plain = [item for item in data.items() if not _is_table(item[1])]
    for key, value in [*plain, *(item for item in data.items() if _is_table(item[1]))]:
        if isinstance(value, Mapping) and name == _ON_A_LINE:
            line = tomlkit.inline_table()
            line.update(value)
            table.append(key, line)
        elif isinstance(value, Mapping):
            table.append(key, _table(value, key))
        elif _is_table(value):
            tables = tomlkit.aot()
            for entry in value:
                tables.append(_table(entry))
            table.append(key, tables)
        else:
            table.append(key, list(value) if isinstance(value, tuple) else value)
    return table


def _is_table(value: Any) -> bool:
    if isinstance(value, tuple | list):
        return bool(value) and isinstance(value[0], Mapping)
    return isinstance(value, Mapping)
