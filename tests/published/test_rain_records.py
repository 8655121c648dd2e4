"""Rain records and tables against published figures."""

import numpy as np
import pytest

from riskkit.errors import RangeError
from riskkit.rainfall.envelope import world_envelope_mm
from riskkit.rainfall.readers.official import read_rain_table

# Millimetres by hours, World Weather and Climate Extremes Archive
WORLD = {1.0: 305.0, 24.0: 1825.0, 48.0: 2493.0}
WORLD_BEYOND = {96.0: 4936.0}


@pytest.mark.published(
    stage="rain",
    what="World envelope lies above the world's records, 1 h to 48 h, by less than half",
    source="wmo_extremes",
    where="World: greatest sixty-minute, 24-hour and 48-hour rainfall",
    origin="printed",
    tolerance="inside",
)
@pytest.mark.parametrize(("duration_h", "record_mm"), WORLD.items())
def test_world_records_lie_under_the_envelope(duration_h, record_mm):
    envelope = float(world_envelope_mm(duration_h))
    assert record_mm <= envelope <= 1.5 * record_mm


@pytest.mark.published(
    stage="rain",
    what="World envelope no longer holds at 96 h: why it is used up to a day only",
    source="wmo_extremes",
    where="World: greatest ninety-six-hour rainfall",
    origin="printed",
    tolerance="outside",
)
@pytest.mark.parametrize(("duration_h", "record_mm"), WORLD_BEYOND.items())
def test_the_envelope_ends_before_four_days(duration_h, record_mm):
    with pytest.raises(RangeError, match="96 h is beyond it; it goes from 1 min to 48 h"):
        world_envelope_mm(duration_h)
    # carried on by its exponent of 0.47
    assert record_mm > float(world_envelope_mm(48.0)) * (duration_h / 48.0) ** 0.47


HEAD = """Point precipitation frequency estimates ({unit})
NOAA Atlas 14 Volume {volume}
Data type: Precipitation {kind}
Time series type: Partial duration

PRECIPITATION FREQUENCY ESTIMATES
by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000
"""
INCHES = {
    "5-min": "0.317,0.379,0.458,0.519,0.597,0.657,0.714,0.773,0.851,0.910",
    "60-min": "0.976,1.19,1.50,1.74,2.07,2.32,2.58,2.84,3.20,3.48",
    "24-hr": "2.00,2.38,2.91,3.34,3.96,4.46,4.98,5.53,6.31,6.93",
}
RATES = {
    "5-min": "73,88,116,140,176,205,237,270,316,353",
    "60-min": "18,21,27,32,40,48,55,64,76,85",
    "6-hr": "5,6,7,8,10,12,15,17,21,24",
    "24-hr": "2,2,3,3,4,5,6,7,8,9",
}
RATES_IN_H = {
    "60-min": [0.69, 0.818, 1.05, 1.26, 1.59, 1.87, 2.18, 2.51, 2.98, 3.36],
    "24-hr": [0.077, 0.09, 0.113, 0.136, 0.171, 0.202, 0.236, 0.273, 0.327, 0.371],
}


def write(path, rows, **head):
    lines = [f"{name}:, {cells}" for name, cells in rows.items()]
    path.write_text(HEAD.format(**head) + "\n".join(lines) + "\n")
    return path


@pytest.mark.published(
    stage="rain",
    what="Official depths in inches read into mm (near Pittsburgh)",
    source="noaa_atlas14_v2",
    where="point estimate at 40.6443 N, 79.9821 W",
    origin="printed",
    tolerance="exact",
)
def test_official_depths_are_read_exactly(tmp_path):
    path = write(tmp_path / "pf.csv", INCHES, unit="inches", kind="depth", volume="2 Version 3")
    table = read_rain_table(path)
    at = list(table.return_period_yr).index(100)
    assert table.depth_mm[:, at] / 25.4 == pytest.approx([0.714, 2.58, 4.98], rel=1e-12)


@pytest.mark.published(
    stage="rain",
    what="Intensities printed in whole mm/h agree with the same table in in/h (Colorado)",
    source="noaa_atlas14",
    where="point estimate at 39.0 N, 105.0 W, volume 8 version 2",
    origin="printed",
    tolerance="half a mm/h times the duration",
)
def test_official_intensities_become_depths(tmp_path):
    path = write(
        tmp_path / "pf.csv", RATES, unit="millimeters/hour", kind="intensity", volume="8 Version 2"
    )
    table = read_rain_table(path)
    for row, name, hours in ((1, "60-min", 1.0), (3, "24-hr", 24.0)):
        exact = np.array(RATES_IN_H[name]) * 25.4 * hours
        assert table.depth_mm[row] == pytest.approx(exact, abs=(0.5 + 0.0005 * 25.4) * hours)
    assert "rounding" in table.notes[-1]
