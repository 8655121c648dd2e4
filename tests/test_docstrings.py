"""Signature and docstring say the same thing, with units and sources."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from numpydoc.docscrape import FunctionDoc

import riskkit
from riskkit.tables import load_sources

NUMERIC = re.compile(r"\b(float|FloatArray|IntArray|NDArray)\b")
UNIT = re.compile(r"\[[^\[\]]+\]")
MODELS = ("riskkit.rainfall", "riskkit.storm", "riskkit.inflow", "riskkit.pit", "riskkit.risk")


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    for info in pkgutil.walk_packages(riskkit.__path__, "riskkit."):
        if info.name.split(".")[-1].startswith("_"):
            continue
        module = importlib.import_module(info.name)
        for name, thing in inspect.getmembers(module):
            if name.startswith("_") or getattr(thing, "__module__", None) != info.name:
                continue
            if inspect.isfunction(inspect.unwrap(thing)):
                yield f"{info.name}.{name}", inspect.unwrap(thing)
            elif inspect.isclass(thing):
                for method, function in vars(thing).items():
                    if inspect.isfunction(function) and not method.startswith("_"):
                        yield f"{info.name}.{name}.{method}", function


FUNCTIONS = dict(public_functions())


def references(function: Callable[..., Any]) -> dict[str, str]:
    lines = inspect.getdoc(function) or ""
    match = re.search(r"\nReferences\n-+\n(.*?)(?=\n\n[A-Z]\w+\n-+\n|\Z)", lines, re.DOTALL)
    if not match:
        return {}
    found = {}
    for line in match.group(1).splitlines():
        if line and not line.startswith(" "):
            key, _, where = line.partition(" : ")
            found[key.strip()] = where.strip()
    return found


@pytest.mark.parametrize("name", FUNCTIONS)
def test_docstring_matches_signature(name: str) -> None:
    function = FUNCTIONS[name]
    doc = FunctionDoc(function)
    assert doc["Summary"], "no summary"
    signature = inspect.signature(function)
    wanted = []
    for parameter in signature.parameters.values():
        if parameter.name == "self":
            continue
        star = {parameter.VAR_POSITIONAL: "*", parameter.VAR_KEYWORD: "**"}.get(parameter.kind, "")
        wanted.append(star + parameter.name)
    described = {}
    for entry in doc["Parameters"]:
        for part in entry.name.split(", "):
            described[part] = " ".join(entry.desc)
    assert list(described) == wanted
    for parameter in signature.parameters.values():
        if parameter.name != "self" and NUMERIC.search(str(parameter.annotation)):
            assert UNIT.search(described[parameter.name]), f"{parameter.name} states no unit"
    returns = str(signature.return_annotation)
    if returns not in ("None", "<class 'inspect._empty'>"):
        assert doc["Returns"] or doc["Yields"], "no Returns section"
        if NUMERIC.search(returns):
            text = " ".join(" ".join(entry.desc) for entry in doc["Returns"])
            assert UNIT.search(text), "Returns states no unit"


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name.startswith(MODELS)])
def test_docstring_names_a_known_source(name: str) -> None:
    found = references(FUNCTIONS[name])
    assert found, "no References section"
    unknown = set(found) - set(load_sources())
    assert not unknown, f"unknown sources {unknown}"


def test_the_test_sees_the_package() -> None:
    assert len(FUNCTIONS) > 20
    assert "riskkit.quantities.units.parse_quantity" in FUNCTIONS
