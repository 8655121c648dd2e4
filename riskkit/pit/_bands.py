"""One pit in volumes, band by band, and the closed forms of the compiled loops.

Everything is in volume, not level: inside a band both flows are linear in the volume stored, so

    dV/dt = r0 + b (V − V0)

has a closed form, and so has the time at which V reaches the end of the band. `cross` gives the
time to cross, `phi_psi` the change within a given time; both also give the mean volume over the
leg, from which ground water and pumped water are summed apart from the change of storage. The
balance error compares the three, so it is a real check.
"""

from __future__ import annotations

import math
from typing import Any

from riskkit.compiled import compiled
from riskkit.records import FloatArray, IntArray

# Two levels closer than a nanometre are one level; the band between them is left out.
_THIN_M = 1e-9
# Flows below this (a thimble in a thousand years) are none: they would only underflow.
TINY_M3_S = 1e-15
# A row per quantity, a column per node or band
VOL, DVOL, PUMP, SEEP, PUMP_RISE, PUMP_SLOPE, SEEP_SLOPE, GAIN, MEAN, LEVEL, AREA = range(11)
N_ROWS = 11
# Sums may be fused and divisions turned into products, which is exact to rounding; infinities and
# the order of sums are kept.
OPTIONS: dict[str, Any] = {
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp"},
}


@compiled(**OPTIONS)
def cross(dv: float, r0: float, r1: float) -> tuple[float, float]:
    """Time to cover dv while the flow goes linearly from r0 to r1, and where the mean volume lies.

    t = dv / logarithmic mean of (r0, r1); the series is exact to rounding for nearly equal flows,
    where the logarithm loses digits.
    """
    inverse = 1.0 / (r0 + r1)
    z = (r1 - r0) * inverse
    u = z * z
    if u < 1e-3:
        # 1 + u/3 + u²/5 + u³/7 + u⁴/9, in pairs so that the products run side by side
        f = 1.0 + u * ((1 / 3 + u * (1 / 5)) + u * u * (1 / 7 + u * (1 / 9)))
        w = 0.5 - z * (1 / 6 + u * (2 / 45 + u * (22 / 945)))
    else:
        f = 0.5 * math.log(r1 / r0) / z
        w = 0.5 - 0.5 * (1.0 - 1.0 / f) / z
    return 2.0 * dv * f * inverse, w


@compiled(**OPTIONS)
def phi_psi(x: float) -> tuple[float, float]:
    """phi = (e^x − 1)/x and psi = (phi − 1)/x: change, and mean change, within a given time."""
    if -0.03 < x < 0.03:
        psi = 0.5 + x * (1 / 6 + x * (1 / 24 + x * (1 / 120 + x * (1 / 720 + x / 5040))))
        phi = 1.0 + x * psi
    else:
        phi = (math.exp(x) - 1.0) / x
        psi = (phi - 1.0) / x
    return phi, psi


@compiled(**OPTIONS)
def cross_near(dv: float, r0: float, r1: float) -> tuple[float, float]:
    """As `cross`, where the flows differ by less than a factor of 5/3: by series alone.

    A function that calls the logarithm has to put all it holds aside for the call, and the loop
    that uses this one holds a lot.
    """
    inverse = 1.0 / (r0 + r1)
    z = (r1 - r0) * inverse
    u = z * z
    if u < 1e-3:
        f = 1.0 + u * ((1 / 3 + u * (1 / 5)) + u * u * (1 / 7 + u * (1 / 9)))
        w = 0.5 - z * (1 / 6 + u * (2 / 45 + u * (22 / 945)))
    else:
        f = 1 / 21 + u * (1 / 23 + u * (1 / 25 + u / 27))
        f = 1 / 11 + u * (1 / 13 + u * (1 / 15 + u * (1 / 17 + u * (1 / 19 + u * f))))
        f = 1.0 + u * (1 / 3 + u * (1 / 5 + u * (1 / 7 + u * (1 / 9 + u * f))))
        w = 0.5 - 0.5 * (1.0 - 1.0 / f) / z
    return 2.0 * dv * f * inverse, w


@compiled(**OPTIONS)
def phi_psi_near(x: float) -> tuple[float, float]:
    """As `phi_psi`, for x between −0.52 and 0.52, by series alone."""
    psi = 0.0
    if not -0.03 < x < 0.03:
        psi = x / 1307674368000
        psi = 1 / 479001600 + x * (1 / 6227020800 + x * (1 / 87178291200 + psi))
        psi = 1 / 3628800 + x * (1 / 39916800 + x * psi)
        psi = x * (1 / 40320 + x * (1 / 362880 + x * psi))
    psi = 1 / 6 + x * (1 / 24 + x * (1 / 120 + x * (1 / 720 + x * (1 / 5040 + psi))))
    psi = 0.5 + x * psi
    return 1.0 + x * psi, psi


@compiled(**OPTIONS)
def prepare(
    level: FloatArray,
    area: FloatArray,
    pump: FloatArray,
    seep: FloatArray,
    marks: IntArray,
    dt: float,
    pit: FloatArray,
    at: IntArray,
) -> int:
    """Write one pit in volumes, without its thin bands; return its number of bands.

    The last band is left open: above the highest level the flows stay as they are there.
    """
    vol = pit[VOL]
    pn = pit[PUMP]
    sn = pit[SEEP]
    lev = pit[LEVEL]
    ar = pit[AREA]
    n = 0
    vol[0] = 0.0
    lev[0] = level[0]
    pn[0] = pump[0]
    sn[0] = seep[0] if seep[0] > TINY_M3_S else 0.0
    for m in range(4):
        if marks[m] == 0:
            at[m] = 0
    for j in range(1, level.size):
        height = level[j] - lev[n]
        if height > _THIN_M:
            # the area of the band just below: thin bands in between are left out
            ar[n] = area[j - 1]
            vol[n + 1] = vol[n] + height * area[j - 1]
            n += 1
            lev[n] = level[j]
            pn[n] = pump[j]
            sn[n] = seep[j] if seep[j] > TINY_M3_S else 0.0
        for m in range(4):
            if marks[m] == j:
                at[m] = n
    ar[n] = area[level.size - 2]
    vol[n + 1] = vol[n] + 1e12
    pn[n + 1] = pn[n]
    sn[n + 1] = sn[n]
    n += 1
    for i in range(n):
        dv = vol[i + 1] - vol[i]
        b = (sn[i + 1] - sn[i]) / dv
        phi, psi = phi_psi(b * dt)
        pit[DVOL, i] = dv
        pit[SEEP_SLOPE, i] = b
        pit[PUMP_RISE, i] = pn[i + 1] - pn[i]
        pit[PUMP_SLOPE, i] = (pn[i + 1] - pn[i]) / dv
        pit[GAIN, i] = dt * phi
        pit[MEAN, i] = b * dt * dt * psi
    return n


@compiled(**OPTIONS)
def find(vol: FloatArray, n: int, v: float) -> int:
    """Band that holds volume v; at a boundary the upper one."""
    i = 0
    while i < n - 1 and v >= vol[i + 1]:
        i += 1
    return i


@compiled(**OPTIONS)
def level_of(pit: FloatArray, n: int, v: float) -> float:
    """Level of a stored volume."""
    i = find(pit[VOL], n, v)
    level: float = pit[LEVEL, i] + (v - pit[VOL, i]) / pit[AREA, i]
    return level


@compiled(**OPTIONS)
def volume_of(pit: FloatArray, n: int, level: float) -> float:
    """Volume stored at a level."""
    i = find(pit[LEVEL], n, level)
    volume: float = pit[VOL, i] + max(level - pit[LEVEL, i], 0.0) * pit[AREA, i]
    return volume
