"""Signature and docstring say the same thing, with units and sources."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from numpydoc.docscrape import FunctionDoc

import riskkit
from riskkit.tables import load_sources

NUMERIC = re.compile(r"\b(float|FloatArray|IntArray|NDArray)\b")
UNIT = re.compile(r"\[[^\[\]]+\]")
STAGES = (
    "rainfall", "storm", "inflow", "pit", "reliability",
    "antecedent", "seasons", "ensemble", "gauge", "evidence", "risk", "failures",
)  # fmt: skip
MODELS = tuple(f"riskkit.{stage}." for stage in STAGES)
SAYS_NOTHING = frozenset({"bookkeeping", "words", "sums", "counting", "none", ""})
# Numbers that are read, counted or put in order, not computed by a model
NO_MODEL = frozenset({
    "riskkit.rainfall.gaps.without_values",
    "riskkit.rainfall.homogeneity.yearly_totals_mm",
    "riskkit.rainfall.maxima.year_starts",
    "riskkit.rainfall.readers.printed.hours_of",
    "riskkit.rainfall.readers.printed.years_of",
    "riskkit.rainfall.quality.missing_by_year",
    "riskkit.rainfall.readers.columns.mm_per_unit",
    "riskkit.rainfall.readers.stamps.times_of",
    "riskkit.seasons.fit.days_by_month",
    "riskkit.storm.moments.by_hour_and_day",
})  # fmt: skip


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
                    is_own = getattr(function, "__module__", None) == info.name  # not of pydantic
                    if is_own and inspect.isfunction(function) and not method.startswith("_"):
                        yield f"{info.name}.{name}.{method}", function


FUNCTIONS = dict(public_functions())
GOOD = """Go.

Parameters
----------
x : float
    Way [m].

Returns
-------
float
    Time [s].

"""


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


@cache
def doc_of(name: str) -> FunctionDoc:
    return FunctionDoc(FUNCTIONS[name])


def faults_of(name: str) -> Iterator[str]:
    """What the docstring of a function says otherwise than its signature, or leaves out."""
    doc, signature = doc_of(name), inspect.signature(FUNCTIONS[name])
    if not doc["Summary"]:
        yield "no summary"
    taken = [one for one in signature.parameters.values() if one.name != "self"]
    stars = {inspect.Parameter.VAR_POSITIONAL: "*", inspect.Parameter.VAR_KEYWORD: "**"}
    wanted = [stars.get(one.kind, "") + one.name for one in taken]
    described = {
        part: " ".join(entry.desc) for entry in doc["Parameters"] for part in entry.name.split(", ")
    }
    if list(described) != wanted:
        yield f"describes {list(described)}, takes {wanted}"
        return
    for one in taken:
        if NUMERIC.search(str(one.annotation)) and not UNIT.search(described[one.name]):
            yield f"{one.name} states no unit"
    returns = str(signature.return_annotation)
    if returns not in ("None", "<class 'inspect._empty'>"):
        if not doc["Returns"] and not doc["Yields"]:
            yield "no Returns section"
        elif NUMERIC.search(returns) and not UNIT.search(returned(name)):
            yield "Returns states no unit"


def returned(name: str) -> str:
    return " ".join(" ".join(entry.desc) for entry in doc_of(name)["Returns"])


def rests_on_a_model(name: str) -> bool:
    """Whether a function of a stage returns numbers with a unit that are more than counted."""
    returns = str(inspect.signature(FUNCTIONS[name]).return_annotation)
    units = set(UNIT.findall(returned(name))) - {"[-]", "[any]"}
    is_number = NUMERIC.search(returns) is not None
    return name.startswith(MODELS) and is_number and bool(units) and name not in NO_MODEL


def faults_of_references(name: str) -> Iterator[str]:
    """What is wrong with the sources that a docstring names."""
    found = references(FUNCTIONS[name])
    for key in set(found) - set(load_sources()):
        yield f"the source {key} is unknown"
    for where in SAYS_NOTHING.intersection(found.values()):
        yield f"a reference to {where!r} says nothing: leave it out"
    if rests_on_a_model(name) and not found:
        yield "no References section"


@pytest.mark.parametrize("look", [faults_of, faults_of_references])
def test_docstrings_say_what_they_should(look: Callable[[str], Iterator[str]]) -> None:
    assert [f"{name}: {fault}" for name in FUNCTIONS for fault in look(name)] == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Go.\n\nParameters\n----------\nx : float\n    Way.\n", "x states no unit"),
        ("Go.\n\nParameters\n----------\ny : float\n    Way [m].\n", "describes ['y']"),
        ("Go.\n\nParameters\n----------\nx : float\n    Way [m].\n", "no Returns section"),
        (GOOD.replace("Time [s]", "Time"), "Returns states no unit"),
        (GOOD, "no References section"),
        (GOOD + "References\n----------\nnobody2020 : p. 3\n", "source nobody2020 is unknown"),
        (GOOD + "References\n----------\narithmetic : bookkeeping\n", "says nothing"),
    ],
)
def test_a_faulty_docstring_is_seen(text: str, fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def go(x: float) -> float:
        return x

    go.__doc__ = text
    name = f"riskkit.pit.{fault}"
    monkeypatch.setitem(FUNCTIONS, name, go)
    said = [*faults_of(name), *faults_of_references(name)]
    assert any(fault in one for one in said)


def test_what_needs_no_source_is_there() -> None:
    assert set(FUNCTIONS) >= NO_MODEL


def test_the_test_sees_the_package() -> None:
    assert len(FUNCTIONS) > 20
    assert "riskkit.quantities.units.parse_quantity" in FUNCTIONS
