"""Rain of a home: records that cannot be right are refused, doubtful ones are remarked on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import design_rain
from riskkit.errors import InputError
from riskkit.rainfall.plain import write_rain
from riskkit.records import RainRecord
from riskkit.site import Site


def record(folder: Path, factor: float, *, years: int = 12) -> Path:
    """Random hours, by a factor too large or small."""
    rng = np.random.default_rng(1)
    hours = years * 8766
    depth = np.where(rng.random(hours) < 0.07, rng.exponential(1.6, hours), 0.0)
    path = folder / "rain.csv"
    write_rain(RainRecord(np.round(depth * factor, 1), np.datetime64("2001-01-01"), 3600), path)
    return path


def test_a_wrong_unit_is_refused(tmp_path: Path) -> None:
    good = design_rain(Site(), tmp_path, record=record(tmp_path, 1.0))
    assert good.used.years is not None
    with pytest.raises(InputError, match=r"cannot be right: .* is \d+ %, expected at most 50 %"):
        design_rain(Site(), tmp_path, record=record(tmp_path, 25.4))


def test_a_doubtful_record_does_not_hinder_an_official_table(tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text(
        "# unit: mm\n# series: partial duration\nduration,1 yr,10 yr,100 yr\n"
        "5 min,8,15,21\n1 h,30,50,75\n24 h,60,100,150\n"
    )
    wrong = record(tmp_path, 25.4)
    rain = design_rain(Site(), tmp_path, record=wrong, table=table)
    assert rain.beside is not None
    assert rain.doubts.rows and not rain.doubts.is_used
