"""Why there would be no answer for a home whose file is in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from riskkit.antecedent.levels import LEVELS, read_levels
from riskkit.assessment import Settings, assess, design_rain, need_system
from riskkit.cli._options import with_leave
from riskkit.errors import RiskkitError, collect_warnings
from riskkit.evidence.overlay import home_as_seen, overlay_of, visit_overlay, without_visit
from riskkit.evidence.posterior import weighed_homes
from riskkit.evidence.remarks import aside_words, misfit_words, remark_words
from riskkit.home.folder import named_file
from riskkit.home.home import Home
from riskkit.home.overruled import overruled_choices
from riskkit.home.visits import last_visit, need_past
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.temperature import read_temperature
from riskkit.risk.conflicts import ground_water_conflict


def refusals(home: Home, folder: Path) -> list[str]:
    """List what stands in the way of an answer, one sentence each."""
    record, table = home.rain.record, home.rain.table
    named: tuple[tuple[str, str | None, Callable[[Path], object]], ...] = (
        ("rain.record", record, read_rain),
        ("rain.table", table, read_rain_table),
        ("rain.temperature", home.rain.temperature, read_temperature),
        (LEVELS, home.choice(LEVELS), read_levels),
    )
    with collect_warnings():
        found = [f"pit and pump: {error}" for error in _error_of(lambda: need_system(home))]
        for where, name, read in named:
            if name is not None:
                found += [f"{where}: {error}" for error in _file_errors(home, name, read)]
        found += _error_of(lambda: need_past(home.visit))
        found += _error_of(lambda: need_past(home.observation, of="observation"))
        found += _visit_refusals(home)
        if record is None and table is None:
            found.append("rain: no rain record and no official table is named.")
        if not found:  # each is in order: are they so together?
            name = "" if home.home_folder is None else home.home_folder.file
            found += [e.removeprefix(f"{name}, ") for e in _error_of(lambda: _answer(home, folder))]
    return found


def _file_errors(home: Home, name: str, read: Callable[[Path], object]) -> list[str]:
    """Read a file that the home names; what is wrong says its name as the home does, no folder."""

    def work() -> None:
        read(named_file(home.home_folder, name))

    path = str(home.home_folder.path / name) if home.home_folder is not None else name
    return [error.replace(path, name) for error in _error_of(work)]


def _visit_refusals(home: Home) -> list[str]:
    """Read the last visit as `riskkit visit` does; earlier ones may be of an older pit."""
    visit = last_visit(home.visit)
    if visit is None:
        return []
    number = len(home.visit) - home.visit[::-1].index(visit)
    found = _error_of(lambda: visit_overlay(home, visit))
    return [f"visit {number}, {error}" for error in found]


def _answer(home: Home, folder: Path) -> None:
    """Answer quickly for the home, and for it before its last visit."""
    rain, visit = design_rain(home, folder), last_visit(home.visit)
    homes = [home]
    if visit is not None:
        homes.append(without_visit(home, visit))
    for one in homes:
        assess(one, rain, Settings(n_draws=16))


def conflicts(home: Home) -> list[str]:
    """List what can be read but does not fit together."""
    found = [ground_water_conflict(home_as_seen(home))]
    if home.observation:
        found += misfit_words(home, weighed_homes(home, 16, 1))
    found += [remark_words(home, one) for one in overlay_of(home).remarks if one.doubt.is_conflict]
    return list(dict.fromkeys(filter(None, found)))


def remarks(home: Home) -> list[str]:
    """List what is in order but not used, one sentence each."""
    return [
        *aside_words(home),
        *(
            f'{key}: "{home.choice(key)}" is not used, for {target} = "{given.text}" says '
            "otherwise."
            for key, target in overruled_choices(home).items()
            if (given := home.quantity(target)) is not None
        ),
    ]


def needed_by_replay(home: Home) -> list[str]:
    """Say what `riskkit replay` needs beyond what an answer needs, one sentence."""
    if home.rain.record is None:
        return ["rain.record: none is named, and riskkit replay needs one."]
    if home.rain.temperature is None:
        return [
            "rain.temperature: none is named, and riskkit replay needs daily temperatures, such as "
            'temperature = "days.csv".'
        ]
    return []


def _error_of(work: Callable[[], object]) -> Iterator[str]:
    try:
        work()
    except RiskkitError as error:
        yield with_leave(error)
