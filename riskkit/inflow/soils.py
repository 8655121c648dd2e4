"""Soil properties by USDA texture class, from ``tables/soils.csv``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from riskkit.errors import InputError
from riskkit.records import FloatArray
from riskkit.tables import load_table

__all__ = [
    "SoilProperties",
    "drain_time_s",
    "field_capacity_deficit_m",
    "soil_properties",
    "sorption_m",
    "texture_names",
]


@dataclass(frozen=True)
class SoilProperties:
    """Properties of the soil of each draw, in SI.

    Parameters
    ----------
    porosity : (n_draws,) array
        Total porosity [-].
    effective_porosity : (n_draws,) array
        Porosity less residual water [-].
    suction_m : (n_draws,) array
        Suction head at the wetting front [m].
    k_m_s : (n_draws,) array
        Conductivity for Green and Ampt, about half the saturated one [m/s].
    wilting_point : (n_draws,) array
        Water that plants cannot draw [-].
    field_capacity : (n_draws,) array
        Water the soil holds against gravity [-].
    drainable_porosity : (n_draws,) array
        Saturation less field capacity [-].
    ln_k_sd : (n_draws,) array
        Standard deviation of ln K within the class [-].
    ln_suction_sd : (n_draws,) array
        Standard deviation of the logarithm of the suction within the class [-].
    """

    porosity: FloatArray
    effective_porosity: FloatArray
    suction_m: FloatArray
    k_m_s: FloatArray
    wilting_point: FloatArray
    field_capacity: FloatArray
    drainable_porosity: FloatArray
    ln_k_sd: FloatArray
    ln_suction_sd: FloatArray


def texture_names() -> tuple[str, ...]:
    """Return the texture classes of the table, coarse to fine.

    Returns
    -------
    tuple of str
        The eleven names, such as ``"silt loam"``.

    References
    ----------
    rawls1983 : table by texture class
    """
    return tuple(row["texture"] for row in load_table("soils").rows)


def soil_properties(textures: Sequence[str]) -> SoilProperties:
    """Look up the soil of each draw.

    The spread of ln K follows from the coefficient of variation c of a log-normal:
    sqrt(ln(1 + c^2)); that of the suction is half the logarithm of the ratio of its limits.

    Parameters
    ----------
    textures : sequence of str, n_draws long
        A name of `texture_names` for each draw.

    Returns
    -------
    SoilProperties
        Arrays (n_draws,), units as stated there [any].

    Raises
    ------
    InputError
        Where a name is not a texture class of the table.

    References
    ----------
    rawls1983 : porosity, effective porosity, suction, conductivity
    saxton_rawls2006 : Table 3, wilting point, field capacity, saturation
    carsel_parrish1988 : coefficient of variation of the conductivity, recalled
    """
    names = texture_names()
    index = {name: i for i, name in enumerate(names)}
    for texture in textures:
        if texture not in index:
            raise InputError(
                "soil texture", f"{texture!r} is not known", f"one of {', '.join(names)}"
            )
    rows = np.array([index[texture] for texture in textures], dtype=np.int64)
    table = load_table("soils")

    def column(name: str, scale: float = 1.0) -> FloatArray:
        return np.asarray(table.column(name))[rows] * scale

    return SoilProperties(
        porosity=column("porosity"),
        effective_porosity=column("effective_porosity"),
        suction_m=column("suction", 0.01),
        k_m_s=column("conductivity", 0.01 / 3600.0),
        wilting_point=column("wilting_point", 0.01),
        field_capacity=column("field_capacity", 0.01),
        drainable_porosity=column("saturation", 0.01) - column("field_capacity", 0.01),
        ln_k_sd=np.sqrt(np.log1p(column("conductivity_cv", 0.01) ** 2)),
        ln_suction_sd=np.log(column("suction_high") / column("suction_low")) / 2.0,
    )


def field_capacity_deficit_m(
    field_capacity: ArrayLike, water_content: ArrayLike, depth_m: ArrayLike
) -> FloatArray:
    """Water that backfill takes up before it drains: (field capacity - water content) depth.

    Parameters
    ----------
    field_capacity : float or (n_draws,) array
        Water held against gravity [-].
    water_content : float or (n_draws,) array
        Water in the soil before the storm [-].
    depth_m : float or (n_draws,) array
        Depth of backfill that water passes on its way to the drain [m].

    Returns
    -------
    (n_draws,) array
        Deficit, never below zero [m].

    References
    ----------
    arithmetic : water balance of a soil column
    """
    dry = np.asarray(field_capacity, float) - np.asarray(water_content, float)
    return np.asarray(np.maximum(0.0, dry) * np.asarray(depth_m, float))


def drain_time_s(
    drainable_porosity: ArrayLike, drain_depth_m: ArrayLike, k_m_s: ArrayLike
) -> FloatArray:
    """Time constant of backfill that drains to the tile: tau = porosity depth / K.

    Backfill full to the top (S = porosity depth) then drains at K, the rate of saturated flow
    straight down; half full, at K/2.

    Parameters
    ----------
    drainable_porosity : float or (n_draws,) array
        Share of the volume that drains by gravity [-].
    drain_depth_m : float or (n_draws,) array
        Height of backfill above the drain [m].
    k_m_s : float or (n_draws,) array
        Conductivity of the backfill [m/s].

    Returns
    -------
    (n_draws,) array
        Time constant [s].

    References
    ----------
    arithmetic : storage over flow at unit gradient
    """
    store = np.asarray(drainable_porosity, float) * np.asarray(drain_depth_m, float)
    return np.asarray(store / np.asarray(k_m_s, float))


def sorption_m(suction_m: ArrayLike, deficit: ArrayLike) -> FloatArray:
    """Suction times moisture deficit, the one length of Green and Ampt's equation: psi dtheta.

    f = K (1 + psi dtheta / F) while water stands on the ground.

    Parameters
    ----------
    suction_m : float or (n_draws,) array
        Suction head at the wetting front [m].
    deficit : float or (n_draws,) array
        Moisture deficit [-].

    Returns
    -------
    (n_draws,) array
        Their product; below 1e-12 m it is nothing, and zero so that quotients stay finite [m].

    References
    ----------
    green_ampt1911 : rate equation
    """
    product = np.asarray(suction_m, float) * np.asarray(deficit, float)
    return np.asarray(np.where(product < 1e-12, 0.0, product))
