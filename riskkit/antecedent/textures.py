"""How likely each texture is for the soil of a home, from what is known of it.

A texture that is given is certain. Soil told by its feel has the weights of ``soil_feel.csv``; soil
that nobody knows those of ``soil_unknown.csv``. Both run from coarse to fine.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from riskkit.home.home import Home
from riskkit.inflow.texture import hydrologic_group, texture_water
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = ["backfill_weights", "soil_weights", "soil_words", "textures_at"]


def soil_weights(home: Home) -> dict[str, float]:
    """Return how likely each texture is for the ground of a home.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    dict of str to float
        Weights by texture, coarse to fine; they add up to one [-].

    References
    ----------
    thien1979 : which texture a feel points to
    foss1975 : how often a feel is right
    judgement : where nothing is known, and the neighbours of a feel
    """
    given, feel = home.choice("ground.soil"), home.choice("ground.feel")
    if given is not None:
        return {given: 1.0}
    rows = load_table("soil_unknown").rows
    if feel is not None:
        rows = tuple(row for row in load_table("soil_feel").rows if row["feel"] == feel)
    return {row["texture"]: float(row["weight"]) for row in rows}


def backfill_weights(home: Home) -> dict[str, float]:
    """Return how likely each texture is for the fill at the wall: mostly the soil dug out there.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    dict of str to float
        Weights by texture, coarse to fine; they add up to one [-].

    References
    ----------
    judgement : fill is the soil that was dug out, where nothing else is known
    """
    given = home.choice("ground.backfill")
    return soil_weights(home) if given is None else {given: 1.0}


def textures_at(weights: dict[str, float], score: FloatArray) -> tuple[str, ...]:
    """Return the texture at each standard normal score, coarse to fine.

    Parameters
    ----------
    weights : dict of str to float
        Weights by texture, above zero; they add up to one [-].
    score : (n_draws,) array
        Standard normal scores [-].

    Returns
    -------
    tuple of str
        One texture per draw.

    References
    ----------
    arithmetic : inverse of a distribution of steps
    """
    names = list(weights)
    edges = [NormalDist().inv_cdf(float(u)) for u in np.cumsum(list(weights.values()))[:-1]]
    return tuple(names[i] for i in np.searchsorted(edges, score))


def soil_words(home: Home) -> str:
    """Say what soil was taken, and on whose word.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    str
        For example ``"clay, as given; fill at the wall: the same"``.

    References
    ----------
    judgement : weights of the textures where the soil is unknown
    foss1975 : how often a feel is right
    neh630_7 : soil group
    """
    soil, feel, fill = (home.choice(f"ground.{key}") for key in ("soil", "feel", "backfill"))
    weights = soil_weights(home)
    names = list(weights)
    first = f"{soil}, as given" if soil else f"not known, drawn from {names[0]} to {names[-1]}"
    if soil is None and feel is not None:
        likely = sorted(weights, key=lambda name: -weights[name])[:2]
        one, two = (f"{name} ({weights[name]:.0%})" for name in likely)
        group = hydrologic_group(float(texture_water(likely[:1]).k_m_s[0]))
        first = (
            f"known by its feel ({feel}): most likely {one}, then {two}; hydrologic soil group "
            f"{group} by the limits of 2009"
        )
    return f"{first}; fill at the wall: {f'{fill}, as given' if fill else 'the same'}"
