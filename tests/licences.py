"""The licence of every package that riskkit is installed with, as a table.

``python tests/licences.py`` prints it. A package says its licence as an expression (PEP 639), by
classifiers or in free text, in this order.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib import metadata

from packaging.markers import default_environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

_LONGEST = 60  # of free text; some packages give the whole licence


def needed(name: str, extras: tuple[str, ...] = ()) -> dict[str, metadata.Distribution]:
    """Return the packages that one is installed with, itself left out, by canonical name."""
    found: dict[str, metadata.Distribution] = {}
    waiting = [(name, extras)]
    seen = set[tuple[str, tuple[str, ...]]]()
    while waiting:
        each = waiting.pop()
        if each in seen:
            continue
        seen.add(each)
        package = metadata.distribution(each[0])
        found[canonicalize_name(each[0])] = package
        waiting += [(r.name, tuple(sorted(r.extras))) for r in _requirements(package, each[1])]
    del found[canonicalize_name(name)]
    return dict(sorted(found.items()))


def _requirements(package: metadata.Distribution, extras: tuple[str, ...]) -> Iterator[Requirement]:
    for text in package.requires or ():
        one = Requirement(text)
        places = [{**default_environment(), "extra": extra} for extra in ("", *extras)]
        if one.marker is None or any(one.marker.evaluate(place) for place in places):
            yield one


def licence(package: metadata.Distribution) -> str:
    """Return what a package says of its licence; empty where it says nothing."""
    said = package.metadata
    expression = said.get("License-Expression")
    if expression:
        return str(expression)
    classified = [
        text.rpartition("::")[2].strip()
        for text in said.get_all("Classifier") or ()
        if text.startswith("License ::") and text.count("::") > 1
    ]
    free = " ".join((said.get("License") or "").split())
    return ", ".join(classified) or free[:_LONGEST]


def main() -> None:
    """Print the table."""
    rows = [
        (name, one.version, licence(one)) for name, one in needed("riskkit", ("fleet",)).items()
    ]
    for row in [("package", "version", "licence"), *rows]:
        sys.stdout.write(f"{row[0]:32}{row[1]:16}{row[2]}\n")


if __name__ == "__main__":
    main()
