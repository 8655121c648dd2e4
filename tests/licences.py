"""The licence and the size of every package that riskkit is installed with, as a table.

``python tests/licences.py`` prints it, the largest first. A package says its licence as an
expression (PEP 639), by classifiers or in free text, in this order. Its size is that of the files
that it lists, without what Python compiles of them later.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

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


def size_mb(package: metadata.Distribution) -> float:
    """Return the size of the files of a package [MB]."""
    files = [Path(str(file.locate())) for file in package.files or () if file.suffix != ".pyc"]
    return sum(file.stat().st_size for file in files if file.is_file()) / 1e6


def main() -> None:
    """Print the table."""
    needs = needed("riskkit", ("fleet",))
    rows = [(name, one.version, size_mb(one), licence(one)) for name, one in needs.items()]
    sys.stdout.write(f"{'package':32}{'version':16}{'MB':>7}  licence\n")
    for name, version, size, said in sorted(rows, key=lambda row: -row[2]):
        sys.stdout.write(f"{name:32}{version:16}{size:7.1f}  {said}\n")
    always = sum(size_mb(one) for one in needed("riskkit").values())
    total = sum(row[2] for row in rows)
    sys.stdout.write(f"{total:.0f} MB in {len(rows)} packages, {always:.0f} MB without fleet\n")


if __name__ == "__main__":
    main()
