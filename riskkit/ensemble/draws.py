"""From what is known of a home to many draws of what it may be.

Every uncertain quantity is a distribution: narrow where it was measured, wider where it was told,
wide where nobody knows. Draws come from one scrambled Sobol sequence whose columns are tied to the
quantities by name, so that the same draws are used whatever is asked of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from statistics import NormalDist

import numpy as np

from riskkit.antecedent.saturation import saturation_by_texture, saturation_of
from riskkit.antecedent.textures import backfill_weights, soil_weights, textures_at
from riskkit.antecedent.water_table import AUTUMN, SPRING, WATER_TABLE, AntecedentGround
from riskkit.antecedent.wetness import SATURATION
from riskkit.ensemble.level_order import put_in_order
from riskkit.ensemble.part_states import put_in_state
from riskkit.ensemble.shared import RAIN_COLUMN, SOIL_COLUMN, Seeds, seeds_of, shared_columns
from riskkit.ensemble.sobol import sobol_points
from riskkit.home.home import Home
from riskkit.home.part_states import found_states
from riskkit.home.samples import HomeSamples
from riskkit.inflow.texture import hydrologic_group, texture_water
from riskkit.quantities.components import Component
from riskkit.quantities.distributions import known_spread, mixture, spread_at
from riskkit.quantities.quantity import Basis, Quantity
from riskkit.quantities.variables import Spread, Variable, choices, spread_of_row, variables
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "Assumption",
    "assumptions",
    "draw_homes",
    "homes_at",
    "median_home",
    "nothing_without",
    "scores_of",
]

ONLY_WHEN_GIVEN = frozenset({
    SPRING, AUTUMN, "pit.bottom_diameter", "pit.length", "pit.width", "ground.dry_inflow"
})  # fmt: skip

# Columns of the draws that belong to no quantity; see `column` in tables/quantities.csv
_BACKFILL_COLUMN = 48
_TOGETHER = (
    50  # columns that share one generator; each later one has its own, and so moves no other
)

# What is nothing without a part: sections of the home file, and single keys
_PARTS: dict[Component, tuple[tuple[str, ...], tuple[str, ...]]] = {
    Component.ALARM: ((), ("switch.alarm",)),
    Component.PUMP: (
        ("pump", "pipe"), ("switch.on", "switch.off", "pit.pump_volume", "pit.pump_height"),
    ),
    Component.GRAVEL: ((), ("gravel.pore_share", "gravel.connected_share")),
    Component.CHECK_VALVE: ((), ()),
    Component.SECOND_PUMP: ((), ()),  # it belongs to no draw
    Component.PIT: (("pit", "gravel", "drain", "switch", "pump", "pipe"), ()),
}  # fmt: skip


@cache
def nothing_without(part: Component) -> frozenset[str]:
    """Return the quantities that are nothing without a part of the system.

    Parameters
    ----------
    part : Component
        The part.

    Returns
    -------
    frozenset of str
        Their keys.
    """
    sections, keys = _PARTS[part]
    return frozenset(key for key in variables() if key.split(".")[0] in sections or key in keys)


RECHARGE = "ground.antecedent_recharge"
_DEEPER_WHEN_WET = -0.5  # correlation of depth to an unknown water table and wetness (judgement)


@dataclass(frozen=True)
class Assumption:
    """What was taken for one quantity of a home, and where it comes from.

    Parameters
    ----------
    key : str
        Section and key of the home file.
    words : str
        The quantity in plain words.
    value : str
        The value as written, or the choice, or empty for a default.
    p05, p50, p95 : float
        The spread used, in the SI unit of the quantity [any].
    basis : Basis
        Measured, given or unknown.
    source : str
        Key in ``sources.toml`` for what was not given.
    rationale : str
        In words what the spread rests on.
    quantity : Quantity, optional
        The value of the home file, where one was taken.
    option : str, optional
        The word of a choice, where that was taken.
    """

    key: str
    words: str
    value: str
    p05: float
    p50: float
    p95: float
    basis: Basis
    source: str
    rationale: str
    quantity: Quantity | None = None
    option: str | None = None


# few are kept, for ten thousand homes have seeds of their own
@lru_cache(maxsize=16)
def _sobol_scores(n_draws: int, seed: int, n_columns: int) -> FloatArray:
    """Scores of the first columns; what a column holds does not depend on how many there are."""
    first = sobol_points(n_draws, _TOGETHER, np.random.default_rng(seed))
    later = [
        sobol_points(n_draws, 1, np.random.default_rng([seed, column]), column)
        for column in range(_TOGETHER, n_columns)
    ]
    points = np.hstack([first, *later])
    normal = NormalDist().inv_cdf
    scores = np.array([normal(float(u)) for u in points.ravel()]).reshape(points.shape)
    scores.flags.writeable = False
    return scores


@lru_cache(maxsize=16)
def _even_scores(n_draws: int, seed: int) -> FloatArray:
    """Scores of the bursts, apart from the sequence and spread evenly."""
    order = np.random.default_rng([seed, 1]).permutation(n_draws)
    scores = np.array([NormalDist().inv_cdf((i + 0.5) / n_draws) for i in order])
    scores.flags.writeable = False
    return scores


def assumptions(home: Home, antecedent: AntecedentGround | None = None) -> tuple[Assumption, ...]:
    """List what is taken for every quantity of a home, in the order of the table.

    Parameters
    ----------
    home : Home
        The home.
    antecedent : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.

    Returns
    -------
    tuple of Assumption
        One per quantity that is used.
    """
    replaced = _replaced(home)
    return tuple(row for row in _all_assumptions(home, antecedent) if row.key not in replaced)


def _replaced(home: Home) -> set[str]:
    """Quantities that are not used, because something better is given in their place."""
    replaced: set[str] = set()
    if home.pairs("pump.curve") is not None:
        replaced |= {"pump.rated_flow", "pump.rated_head", "pump.shutoff_head"}
    if home.pairs("pit.table") is not None:
        replaced |= {"pit.diameter", "pit.depth"}
    if home.quantity("pit.length") is not None:
        replaced.add("pit.diameter")
    for part in Component:
        if home.lacks(part):
            replaced |= nothing_without(part)
    return replaced


@lru_cache(maxsize=4)  # of one home: as it is asked for, drawn, and shown
def _all_assumptions(home: Home, antecedent: AntecedentGround | None) -> tuple[Assumption, ...]:
    chosen: dict[str, tuple[str, str, Spread]] = {}
    for key, choice in choices().items():
        option = home.choice(key)
        if option is not None:
            for target, spread in choice.options[option].items():
                chosen[target] = (f'{key.split(".")[1]} "{option}"', option, spread)
    antecedent = antecedent or AntecedentGround()
    rows = []
    for key in _columns():
        item, quantity, option = variables()[key], home.quantity(key), None
        if quantity is not None:  # a number beats a choice, a choice beats a default
            value = quantity.value
            exact = Spread(value, value, value, "taken as exact", "arithmetic")
            spread = known_spread(quantity, item.shape) or exact
            taken, basis = quantity.text, quantity.basis
        elif key in chosen:
            taken, option, spread = chosen[key]
            basis = Basis.GIVEN
        elif key in ONLY_WHEN_GIVEN:
            continue
        else:
            taken, basis, spread = "", Basis.UNKNOWN, item.unknown
            if key == WATER_TABLE and antecedent.water_table is not None:
                found = antecedent.water_table
                taken, basis, spread = found.origin, found.basis, found.spread
        if key == SATURATION and quantity is None:
            spread = saturation_of(home, antecedent.wetness)
        elif basis is Basis.UNKNOWN and (of_texture := _by_texture(key, home, antecedent)):
            weights = np.array([soil_weights(home)[name] for name in of_texture])
            spread = mixture(weights, list(of_texture.values()), item.shape.scale)
        rows.append(
            Assumption(
                key, item.words, taken, spread.p05, spread.p50, spread.p95, basis,
                spread.source, spread.words, quantity, option,
            )
        )  # fmt: skip
    return tuple(rows)


def _by_texture(key: str, home: Home, antecedent: AntecedentGround) -> dict[str, Spread]:
    """What an unknown quantity of the ground is, by texture; empty for all others."""
    if key == RECHARGE and antecedent.wetness is not None:
        found = antecedent.wetness.recharge_by_texture
        return {name: found[name] for name in soil_weights(home)}
    by_group = _unknown_by_group().get(key)
    if by_group is None:
        return {}
    return {name: by_group[_group(name)] for name in soil_weights(home)}


@cache
def _unknown_by_group() -> dict[str, dict[str, Spread]]:
    found: dict[str, dict[str, Spread]] = {}
    for row in load_table("unknown_by_group").rows:
        found.setdefault(row["quantity"], {})[row["group"]] = spread_of_row(row)
    return found


@cache
def _group(texture: str) -> str:
    return hydrologic_group(float(texture_water([texture]).k_m_s[0]))


def _columns() -> dict[str, int]:
    """The quantities that are drawn, each with its column."""
    return {k: item.column for k, item in variables().items() if item.column is not None}


def _n_columns() -> int:
    return max(_TOGETHER, *(column + 1 for column in _columns().values()))


def draw_homes(
    home: Home, n_draws: int, seed: int | Seeds, antecedent: AntecedentGround | None = None
) -> HomeSamples:
    """Draw many homes that all agree with what is known.

    Parameters
    ----------
    home : Home
        The home.
    n_draws : int
        How many draws, a power of two [-].
    seed : int or Seeds
        Of the scrambling; the same seed gives the same draws [-].
    antecedent : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.

    Returns
    -------
    HomeSamples
        The draws side by side.

    Raises
    ------
    ValueError
        Where `n_draws` is not a power of two.

    References
    ----------
    sobol1967 : the sequence
    matousek1998 : its scramble
    """
    bursts = _even_scores(n_draws, seeds_of(seed).rain)
    return homes_at(home, scores_of(n_draws, seed), antecedent, bursts)


def scores_of(n_draws: int, seed: int | Seeds) -> FloatArray:
    """Return the standard normal scores that draws are made of, evenly spread.

    Parameters
    ----------
    n_draws : int
        How many draws, a power of two [-].
    seed : int or Seeds
        Of the scrambling [-].

    Returns
    -------
    (n_draws, n_columns) array
        Scores; see `column` in ``tables/quantities.csv`` [-].

    Raises
    ------
    ValueError
        Where `n_draws` is not a power of two.

    References
    ----------
    sobol1967 : the sequence
    matousek1998 : its scramble
    """
    seeds = seeds_of(seed)
    scores = _sobol_scores(n_draws, seeds.own, _n_columns())
    for name, other in (("ground", seeds.ground), ("rain", seeds.rain)):
        if other != seeds.own:
            columns, scores = list(shared_columns()[name]), scores.copy()
            scores[:, columns] = _sobol_scores(n_draws, other, _n_columns())[:, columns]
    return scores


def homes_at(
    home: Home,
    scores: FloatArray,
    antecedent: AntecedentGround | None = None,
    burst_score: FloatArray | None = None,
) -> HomeSamples:
    """Return the draws of a home that belong to some scores.

    Parameters
    ----------
    home : Home
        The home.
    scores : (n_draws, n_columns) array
        Standard normal scores, as of `scores_of` [-].
    antecedent : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.
    burst_score : (n_draws,) array, optional
        Of how sharp a storm peaks; evenly spread where it is left out [-].

    Returns
    -------
    HomeSamples
        The draws side by side.
    """
    burst = _even_scores(len(scores), 1) if burst_score is None else burst_score
    return replace(_realise(home, scores, antecedent), burst_score=burst)


def median_home(home: Home, antecedent: AntecedentGround | None = None) -> HomeSamples:
    """Return the one home with every quantity at its median.

    Parameters
    ----------
    home : Home
        The home.
    antecedent : AntecedentGround, optional
        Wetness and water table before large storms, where the days of a record tell them.

    Returns
    -------
    HomeSamples
        One home.

    References
    ----------
    arithmetic : all scores are zero
    """
    return _realise(home, np.zeros((1, _n_columns())), antecedent)


def _realise(home: Home, scores: FloatArray, antecedent: AntecedentGround | None) -> HomeSamples:
    """Put scores (n_draws, n_columns) through the distributions of a home."""
    taken = {row.key: row for row in _all_assumptions(home, antecedent)}
    values: dict[str, FloatArray] = {}
    antecedent = antecedent or AntecedentGround()
    scores = _with_wetness(scores, taken, antecedent)
    for key, column in _columns().items():
        item = variables()[key]
        values[item.name] = _values(item, taken.get(key), scores[:, column])
    soil = textures_at(soil_weights(home), scores[:, SOIL_COLUMN])
    backfill = soil  # mostly what was dug out
    if home.choice("ground.backfill") is not None:
        backfill = textures_at(backfill_weights(home), scores[:, _BACKFILL_COLUMN])
    if home.quantity(SATURATION) is None:
        item, score = variables()[SATURATION], scores[:, _columns()[SATURATION]]
        of_texture = saturation_by_texture(home, antecedent.wetness)
        values[item.name] = _of_own_soil(backfill, of_texture, item, score)
    for key, row in taken.items():
        of_texture = _by_texture(key, home, antecedent) if row.basis is Basis.UNKNOWN else {}
        if of_texture:
            item, score = variables()[key], scores[:, _columns()[key]]
            values[item.name] = _of_own_soil(soil, of_texture, item, score)
    inflow = taken.get("ground.dry_inflow")
    unknown = taken[WATER_TABLE].basis is Basis.UNKNOWN
    if inflow is not None and inflow.p50 > 0 and unknown:
        values["water_table_depth_m"] = np.full(len(scores), np.nan)  # derived from the inflow
    known = {key for key in taken if taken[key].basis is not Basis.UNKNOWN}
    if table := home.pairs("pit.table"):
        values["pit_depth_m"] = np.full(len(scores), max(depth for depth, _ in table))
        known |= {"pit.depth", "pit.table"}
    put_in_order(values, known)
    put_in_state(values, found_states(home))
    return HomeSamples(
        values=values,
        backfill=backfill,
        soil=soil,
        rain_score=scores[:, RAIN_COLUMN],
        burst_score=np.zeros(len(scores)),
        pit_table=home.pairs("pit.table"),
        pump_curve=home.pairs("pump.curve"),
        has_pump=not home.lacks(Component.PUMP),
        has_check_valve=not home.lacks(Component.CHECK_VALVE),
    )


def _with_wetness(
    scores: FloatArray, taken: Mapping[str, Assumption], antecedent: AntecedentGround
) -> FloatArray:
    """Let what is wet be wet together: soil, recharge of the days before, water table.

    Where levels are known, the table goes with the soil as it does before the storms. A wetness
    that somebody gives has a spread of its own, which says nothing of the others. Before one storm
    an unknown table goes with how wet that storm found the soil among all of them.
    """
    wet, deep = _columns()[SATURATION], _columns()[WATER_TABLE]
    if taken[SATURATION].basis is not Basis.UNKNOWN:
        return scores
    scores = scores.copy()
    scores[:, _columns()[RECHARGE]] = scores[:, wet]
    go = 0.0
    if taken[WATER_TABLE].basis is Basis.UNKNOWN:
        go = _DEEPER_WHEN_WET
    elif antecedent.water_table is not None and antecedent.wetness is not None:
        go = antecedent.water_table.with_wetness
    found = antecedent.wetness
    wetness = scores[:, wet] if found is None or found.score is None else found.score
    scores[:, deep] = go * wetness + np.sqrt(1 - go**2) * scores[:, deep]
    return scores


def _values(item: Variable, row: Assumption | None, score: FloatArray) -> FloatArray:
    if row is None:
        return np.full(score.shape, np.nan)
    if row.p05 == row.p95:
        return np.full(score.shape, row.p50)
    spread = Spread(row.p05, row.p50, row.p95, "", "")
    return np.clip(spread_at(spread, item.shape.scale, score), item.low, item.high)


def _of_own_soil(
    textures: tuple[str, ...], of_texture: Mapping[str, Spread], item: Variable, score: FloatArray
) -> FloatArray:
    """Each draw gets what its own soil has: clay stays wetter than sand."""
    found = np.empty(score.size)
    for texture in dict.fromkeys(textures):
        mine = np.array([name == texture for name in textures])
        values = spread_at(of_texture[texture], item.shape.scale, score[mine])
        found[mine] = np.clip(values, item.low, item.high)
    return found
