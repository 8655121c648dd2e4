"""Which records there are near a place, of all sources at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError, NoNetworkError, RangeError, RiskkitError
from riskkit.rainfall.sources import acis, uscrn
from riskkit.rainfall.sources.acis import AcisGrid, AcisStations
from riskkit.rainfall.sources.archive import stored_records
from riskkit.rainfall.sources.candidate import Candidate, Source, is_on_earth
from riskkit.rainfall.sources.meteostat import DAY_S, HOUR_S, Meteostat
from riskkit.rainfall.sources.network import host_of, reachable
from riskkit.rainfall.sources.uscrn import ReferenceNetwork

__all__ = ["Found", "all_sources", "candidates_near", "choose"]

FARTHEST_KM = 500.0


@dataclass(frozen=True)
class Found:
    """What was found near a place.

    Parameters
    ----------
    candidates : tuple of Candidate
        The nearest first; at one place the finest interval first.
    remarks : tuple of str
        Which sources could not be asked, and why, a sentence each.
    """

    candidates: tuple[Candidate, ...]
    remarks: tuple[str, ...]


def all_sources(folder: Path) -> tuple[Source, ...]:
    """Return the sources that riskkit knows.

    Parameters
    ----------
    folder : Path
        Where lists of stations are kept.

    Returns
    -------
    tuple of Source
        The sources.

    References
    ----------
    meteostat : hourly and daily
    acis : stations and grid
    uscrn : 5 minutes
    """
    return (
        ReferenceNetwork(uscrn.PRODUCTS),
        Meteostat(folder, HOUR_S),
        Meteostat(folder, DAY_S),
        AcisStations(acis.SERVICE),
        AcisGrid(acis.SERVICE),
    )


def candidates_near(
    latitude: float,
    longitude: float,
    within_km: float,
    sources: Sequence[Source],
    folder: Path,
    tell: Callable[[str], None] = lambda _: None,
) -> Found:
    """Ask all sources what they have near a place.

    Parameters
    ----------
    latitude, longitude : float
        The place; north and east positive [deg]. Sources are told two decimals of it, no more.
    within_km : float
        How far away a station may be, at most 500 [km].
    sources : sequence of Source
        Whom to ask.
    folder : Path
        Where records are kept, to say what is stored where there is no network.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    Found
        What there is, and which source could not be asked.

    Raises
    ------
    NoNetworkError
        Where none can be reached: within two seconds, with what is stored and how to go on.
    RangeError
        Where the place or the distance cannot be.
    InputError
        Where all sources refuse.
    """
    if not is_on_earth(latitude, longitude):
        raise RangeError("place", f"{latitude:g},{longitude:g} is nowhere on Earth",
                         "write latitude and longitude like 40.61,-75.49")  # fmt: skip
    if not 0 < within_km <= FARTHEST_KM:
        raise RangeError("distance", f"{within_km:g} km is outside 0 to {FARTHEST_KM:g} km")
    # about a kilometre: near enough for rain, and which house it is stays here
    asked = round(latitude, 2), round(longitude, 2)
    tell("looking for the network")
    there = reachable([address for source in sources for address in source.addresses])
    if there and not any(there.values()):
        raise NoNetworkError(_offline(tuple(there), folder))
    candidates: list[Candidate] = []
    remarks: list[str] = []
    last: RiskkitError | None = None
    for source in sources:
        away = [host_of(address) for address in source.addresses if not there[address]]
        if away:
            remarks.append(f"{source.title} cannot be reached ({', '.join(away)}).")
            continue
        tell(f"asking {source.title}")
        try:
            candidates += source.near(*asked, within_km)
        except (NoNetworkError, InputError) as error:
            last = error
            remarks.append(f"{source.title} could not be asked: {error}")
    if last is not None and len(remarks) == len(sources):
        raise last
    candidates.sort(key=lambda one: (round(one.distance_km, 1), one.interval_s, one.key))
    return Found(tuple(candidates), tuple(remarks))


def choose(candidates: Sequence[Candidate], text: str) -> Candidate:
    """Return the record that a person means.

    Parameters
    ----------
    candidates : sequence of Candidate
        What there is.
    text : str
        Source and station as listed, or the station alone where only one source has it.

    Returns
    -------
    Candidate
        The one.

    Raises
    ------
    InputError
        Where it is none of them, or not the only one.
    """
    exact = [one for one in candidates if one.key == text]
    found = exact or [one for one in candidates if one.station == text]
    if len(found) == 1:
        return found[0]
    listed = ", ".join(one.key for one in (found or candidates)[:4])
    if found:
        raise InputError("station", f"{text!r} is in more than one source", f"write {listed}")
    right = f"near that place there are {listed}" if listed else "nothing is near that place"
    raise InputError("station", f"{text!r} is not listed", right)


def _offline(addresses: Sequence[str], folder: Path) -> str:
    hosts = ", ".join(sorted({host_of(address) for address in addresses}))
    stored = stored_records(folder)
    kept = f"stored already: {', '.join(map(str, stored))}" if stored else "nothing is stored yet"
    return (
        f"No source of rain can be reached ({hosts}), so this machine seems to be offline; {kept}; "
        "go on with a stored record or any other file of rain."
    )
