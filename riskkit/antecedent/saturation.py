"""How full of water the soil is before a storm where only a word, or nothing at all, tells it.

The tables say it for clay loam. Another texture stands at the same place between its own wilting
point, field capacity and fill: sand at field capacity holds little, clay nearly all it can.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from riskkit.antecedent.textures import backfill_weights
from riskkit.antecedent.wetness import SATURATION, AntecedentWetness
from riskkit.home.home import Home
from riskkit.inflow.soils import soil_properties
from riskkit.inflow.wetness import effective_saturation
from riskkit.quantities.distributions import mixture
from riskkit.quantities.variables import Spread, choices, variables
from riskkit.records import FloatArray

__all__ = ["like_reference", "saturation_by_texture", "saturation_of"]

_REFERENCE = "clay loam"  # for which choices.csv and quantities.csv say it


def like_reference(saturation: ArrayLike, texture: str) -> FloatArray:
    """Return the saturation of a texture that is as wet as clay loam of a given saturation.

    Both lie at the same place on the line through wilting point, field capacity and full.

    Parameters
    ----------
    saturation : float or (n,) array
        Effective saturation of clay loam, 0 to 1 [-].
    texture : str
        Texture class.

    Returns
    -------
    (n,) array
        Effective saturation of the texture [-].

    References
    ----------
    saxton_rawls2006 : Table 3, wilting point and field capacity
    rawls1983 : porosity and effective porosity
    """
    soil = soil_properties([_REFERENCE, texture])
    marks = np.stack(
        [
            np.zeros(2),
            effective_saturation(soil.wilting_point, soil.porosity, soil.effective_porosity),
            effective_saturation(soil.field_capacity, soil.porosity, soil.effective_porosity),
            np.ones(2),
        ]
    )
    return np.asarray(np.interp(np.asarray(saturation, float), marks[:, 0], marks[:, 1]))


def saturation_by_texture(home: Home, wetness: AntecedentWetness | None) -> Mapping[str, Spread]:
    """Return how full each soil that the fill at the wall may be is before a storm.

    A word of a person takes precedence over the days of a record, these before the default.

    Parameters
    ----------
    home : Home
        The home.
    wetness : AntecedentWetness or None
        Wetness before large storms, where the days of a record tell it.

    Returns
    -------
    mapping of str to Spread
        By texture [-].

    References
    ----------
    judgement : the usual soil before a storm is at field capacity, and the spread about it
    saxton_rawls2006 : wilting point and field capacity
    """
    if wetness is not None:
        return wetness.by_texture
    base = _chosen(home) or variables()[SATURATION].unknown
    found = {}
    for texture in backfill_weights(home):
        low, median, high = like_reference([base.p05, base.p50, base.p95], texture).tolist()
        found[texture] = Spread(low, median, high, base.words, base.source)
    return found


def saturation_of(home: Home, wetness: AntecedentWetness | None) -> Spread:
    """Return how full the soil at the wall is before a storm, over all that it may be.

    Parameters
    ----------
    home : Home
        The home.
    wetness : AntecedentWetness or None
        Wetness before large storms, where the days of a record tell it.

    Returns
    -------
    Spread
        Textures by their weight [-].

    References
    ----------
    arithmetic : quantiles of a mixture
    """
    if wetness is not None:
        return wetness.spread
    weights, of_texture = backfill_weights(home), saturation_by_texture(home, None)
    scale = variables()[SATURATION].shape.scale
    return mixture(np.array(list(weights.values())), list(of_texture.values()), scale)


def _chosen(home: Home) -> Spread | None:
    for key, choice in choices().items():
        option = home.choice(key) if SATURATION in choice.targets else None
        if option is not None:
            return choice.options[option][SATURATION]
    return None
