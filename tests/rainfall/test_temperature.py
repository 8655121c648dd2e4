"""Daily temperatures and rain by the day."""

import gzip
from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.readers.temperature import daily_rain, read_temperature
from riskkit.records import RainRecord

HEAD = "date,tmin_degC,tmax_degC\n"
GOOD = HEAD + "2001-01-01,-5,3.5\n2001-01-02,-9999,4\n2001-01-04,0,\n"


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "air.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_days_that_are_missing_are_missing(tmp_path: Path) -> None:
    found = read_temperature(written(tmp_path, "# a comment\n" + GOOD))
    assert found.first_day == 11323  # 2001-01-01
    assert found.tmin_degc == pytest.approx([-5, np.nan, np.nan, 0], nan_ok=True)
    assert found.tmax_degc == pytest.approx([3.5, 4, np.nan, np.nan], nan_ok=True)


def test_packed_and_fahrenheit_and_other_columns(tmp_path: Path) -> None:
    text = "station,tmax_degF,date,tmin_degF\nX,50,2001-01-01,-40\nX,212.0,2001-01-02,\n"
    good = text.replace("212.0", "86")
    found = read_temperature(written(tmp_path, gzip.compress(good.encode())))
    assert found.tmin_degc[0] == pytest.approx(-40) and found.tmax_degc == pytest.approx([10, 30])
    with pytest.raises(InputError, match=r"line 3: tmax_degF is 212.0, hotter"):
        read_temperature(written(tmp_path, text))


WRONG = {
    "empty": ("", "empty"),
    "no rows": (HEAD, "no rows"),
    "no header": ("2001-01-01,1,2\n2001-01-02,1,2\n", "header"),
    "no unit": ("date,tmin,tmax\n2001-01-01,1,2\n", "tmin_degC"),
    "rain": ("time,depth_mm\n2001-01-01T00:00,1\n", "tmin_degC"),
    "two units": ("date,tmin_degC,tmax_degF\n2001-01-01,1,2\n", "tmin_degC"),
    "a word": (HEAD + "2001-01-01,mild,20\n", "line 2: tmin_degC is 'mild'"),
    "decimal comma": (HEAD + '2001-01-01,"1,5",20\n', "1.5"),
    "too cold": (HEAD + "2001-01-01,-95,20\n", "-95"),
    "too hot": (HEAD + "2001-01-01,20,65\n", "hotter"),
    "infinite": (HEAD + "2001-01-01,1,inf\n", "inf"),
    "swapped": (HEAD + "2001-01-01,1,2\n2001-01-02,9,2\n", "line 3: the highest"),
    "Fahrenheit": (HEAD + "2001-07-01,30,55\n2001-07-02,35,57\n", "degrees Fahrenheit"),
    "day twice": (HEAD + "2001-01-01,1,2\n2001-01-01,1,2\n", "twice"),
    "back in time": (HEAD + "2001-01-03,1,2\n2001-01-01,1,2\n", "earlier"),
    "with an hour": (HEAD + "2001-01-01 07:00,1,2\n", "time of day"),
    "American date": (HEAD + "01/02/2001,1,2\n", "2001"),
    "no such day": (HEAD + "2001-02-30,1,2\n", "no such time"),
    "one wrong date": (HEAD + "1701-01-01,1,2\n2001-01-01,1,2\n", "wrong date"),
    "all missing": (HEAD + "2001-01-01,,\n", "every temperature"),
    "ragged": (HEAD + "2001-01-01,1\n", "cells"),
    "a page": ("<html></html>", "web page"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_fault_is_told_in_one_sentence(name: str, tmp_path: Path) -> None:
    text, word = WRONG[name]
    with pytest.raises(InputError) as caught:
        read_temperature(written(tmp_path, text))
    said = str(caught.value)
    assert word in said and "air.csv" in said and "\n" not in said


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_temperature(tmp_path / "none.csv")


def test_demo_temperatures(demo_sites: Path) -> None:
    found = read_temperature(demo_sites / "alder_bend_temperature.csv.gz")
    assert found.tmin_degc.size == 14610 and not np.isnan(found.tmax_degc).any()


def test_rain_by_the_day_keeps_its_water() -> None:
    start = np.datetime64("2001-01-01T18:00")
    rng = np.random.default_rng(5)
    depth = rng.gamma(0.3, 3.0, 24 * 9)
    depth[30:42] = np.nan
    found = daily_rain(RainRecord(depth, start, 3600))
    assert found.depth_mm.sum() == pytest.approx(np.nansum(depth))
    assert found.first_day == 11323 and found.depth_mm.size == 10
    assert found.depth_mm[0] == pytest.approx(depth[:6].sum())
    assert found.depth_mm[3] == pytest.approx(depth[54:78].sum())
    assert found.missing_share[0] == pytest.approx(0.75)  # cut by the start of the record
    assert found.missing_share[2] == pytest.approx(0.5)
    assert found.missing_share[3] == 0


def test_daily_rain_of_a_daily_record_is_itself() -> None:
    depth = np.array([0.0, 12.5, np.nan, 3.0])
    found = daily_rain(RainRecord(depth, np.datetime64("2001-01-01T00:00"), 86400))
    assert found.depth_mm == pytest.approx([0, 12.5, 0, 3])
    assert found.missing_share == pytest.approx([0, 0, 1, 0])
