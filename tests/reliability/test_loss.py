"""Losses: two families that are never blended."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.errors import OutOfRangeWarning, RangeError
from riskkit.reliability import loss as s


def test_first_family_by_hand() -> None:
    found = s.egm_loss(np.array([0.0, 0.2, 1.0]), 250_000.0, "USD", 2024)
    # at 0.2 m, midway: structure 0.46 %, contents 0.56 %
    assert found.amount == pytest.approx([0.0, 250_000 * 0.0102, 250_000 * 0.075])
    assert (found.currency, found.price_year) == ("USD", 2024)


def test_second_family_by_hand() -> None:
    found = s.alberta_loss(np.array([-0.1, 0.1, 0.2]), 60.0, 0.5)
    # at 0.1 m: (207 + 242)/2 + (163 + 400)/2; at 0.3 m: (271 + 354)/2 + (232 + 554)/2; midway
    first, third = 224.5 + 281.5, 312.5 + 393.0
    assert found.amount == pytest.approx([0.0, 60 * first, 60 * (first + third) / 2])
    assert (found.currency, found.price_year) == ("CAD", 2014)


def test_where_water_is_shallow_the_families_differ_about_tenfold() -> None:
    first = s.egm_loss(0.1, 300_000.0, "CAD", 2014).amount
    second = s.alberta_loss(0.1, 50.0).amount
    assert 5 < second / first < 30


def test_deeper_water_never_costs_less() -> None:
    depth = np.linspace(0.1, 1.0, 91)
    for part in s.LossPart:
        assert np.all(np.diff(s.egm_loss_share(depth, part)) >= 0)
        for place in (0.0, 0.3, 1.0):
            assert np.all(np.diff(s.alberta_loss_per_m2(depth, part, place)) >= 0)


def test_beyond_the_table_is_said() -> None:
    with pytest.warns(OutOfRangeWarning, match=r"not of 1\.4 to 1\.4 m"):
        found = s.egm_loss_share(1.4, s.LossPart.STRUCTURE)
    assert found == pytest.approx(0.032)
    with pytest.warns(OutOfRangeWarning, match=r"not of 0\.02 to 0\.02 m"):
        shallow = s.alberta_loss_per_m2(0.02, s.LossPart.CONTENTS, 0.0)
    assert shallow == pytest.approx(163)


def test_the_users_own_figure() -> None:
    own = s.own_loss(np.array([0.0, 0.01, 0.5]), 12_000.0, "USD", 2026)
    assert own.amount.tolist() == [0.0, 12_000.0, 12_000.0]
    assert own.family is s.LossFamily.OWN


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(RangeError, match="currency"):
        s.own_loss(0.1, 1.0, "dollars", 2026)
    with pytest.raises(RangeError, match="below zero"):
        s.own_loss(0.1, -1.0, "USD", 2026)
    with pytest.raises(RangeError, match="place"):
        s.alberta_loss(0.1, 50.0, 1.5)
