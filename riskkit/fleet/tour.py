"""The way round the visits of a week: straight lines, days and crews; no map is asked."""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from riskkit.errors import InputError
from riskkit.records import FloatArray

__all__ = ["DAYS", "Round", "distances_km", "plane_km", "rounds_of"]

DAYS = 5
"""Days of a working week."""
_KM_PER_DEGREE = 111.195  # of a great circle on a ball of 6371 km: 2 pi 6371 / 360


@dataclass(frozen=True)
class Round:
    """The way of one crew on one day.

    Parameters
    ----------
    day, crew : int
        Which, both from 0 on [-].
    stops : tuple of int
        Places among the points that were given, in order [-].
    km : float
        From the yard round and back, in straight lines [km].
    """

    day: int
    crew: int
    stops: tuple[int, ...]
    km: float


def distances_km(latitude: FloatArray, longitude: FloatArray) -> FloatArray:
    """Straight lines between points that are not far apart.

    Parameters
    ----------
    latitude, longitude : (n,) arrays
        Degrees north and east [deg].

    Returns
    -------
    (n, n) array
        Distances [km].

    References
    ----------
    arithmetic : a plane at the middle latitude, on a ball of 6371 km
    """
    middle = np.radians(np.mean(latitude))
    north = _KM_PER_DEGREE * np.subtract.outer(latitude, latitude)
    apart = np.subtract.outer(longitude, longitude)
    east = _KM_PER_DEGREE * np.cos(middle) * ((apart + 180) % 360 - 180)
    return np.asarray(np.hypot(north, east))


def plane_km(place: tuple[float, float], middle: tuple[float, float]) -> tuple[float, float]:
    """How far east and north a place lies of another that is not far.

    Parameters
    ----------
    place, middle : tuple of float
        Latitude and longitude [deg].

    Returns
    -------
    east, north : float
        Distances [km].

    References
    ----------
    arithmetic : a plane at the latitude of the middle, on a ball of 6371 km
    """
    apart = (place[1] - middle[1] + 180) % 360 - 180
    east = _KM_PER_DEGREE * float(np.cos(np.radians(middle[0]))) * apart
    return east, _KM_PER_DEGREE * (place[0] - middle[0])


def rounds_of(
    points: Sequence[tuple[float, float]],
    yard: tuple[float, float],
    crews: int = 1,
    days: int = DAYS,
) -> tuple[Round, ...]:
    """Share points out among days and crews, about as many each, with short ways round.

    Parameters
    ----------
    points : sequence of tuple of float
        Latitude and longitude of each [deg].
    yard : tuple of float
        Where every round begins and ends [deg].
    crews, days : int
        How many [-].

    Returns
    -------
    tuple of Round
        By day and crew; those without a stop are left out.

    Raises
    ------
    InputError
        Where ortools is not installed.

    References
    ----------
    clarke_wright1964 : savings, improved by moves while they shorten
    """
    if not points:
        return ()
    try:
        routing = importlib.import_module("ortools.constraint_solver.pywrapcp")
        kinds = importlib.import_module("ortools.constraint_solver.routing_enums_pb2")
    except ModuleNotFoundError:
        raise InputError("rounds", "they need ortools", 'pip install "riskkit[fleet]"') from None
    spots = np.array([yard, *points])
    km = distances_km(spots[:, 0], spots[:, 1])
    metres = np.rint(1000 * km).astype(np.int64).tolist()
    n_rounds = min(crews * days, len(points))
    most = -(-len(points) // n_rounds)
    manager = routing.RoutingIndexManager(len(spots), n_rounds, 0)
    model = routing.RoutingModel(manager)
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(metres))
    one_each = model.RegisterUnaryTransitVector([0] + [1] * len(points))
    model.AddDimension(one_each, 0, most, True, "stops")
    how = routing.DefaultRoutingSearchParameters()
    how.first_solution_strategy = kinds.FirstSolutionStrategy.SAVINGS
    found = model.SolveWithParameters(how)
    if found is None:
        raise InputError("rounds", "no way round was found", "use fewer crews")
    return _rounds(model, manager, found, n_rounds, crews, km)


def _rounds(
    model: Any, manager: Any, found: Any, n_rounds: int, crews: int, km: FloatArray
) -> tuple[Round, ...]:
    rounds: list[Round] = []
    for vehicle in range(n_rounds):
        at, way = model.Start(vehicle), []
        while not model.IsEnd(at):
            way.append(manager.IndexToNode(at))
            at = found.Value(model.NextVar(at))
        ring = [*way, 0]
        length = float(sum(km[i, j] for i, j in pairwise(ring)))
        day, crew = divmod(len(rounds), crews)
        if len(way) > 1:
            rounds.append(Round(day, crew, tuple(spot - 1 for spot in way[1:]), length))
    return tuple(rounds)
