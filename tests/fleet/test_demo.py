"""The invented company: the same homes whatever their number, and a truth near the known."""

from __future__ import annotations

import io
import shlex
from pathlib import Path

import pandas as pd
import pytest

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.demo import demo_home, demo_homes, demo_text
from riskkit.fleet.table import BadRow, FleetHome, home_of_row, read_rows
from riskkit.report.fleet_words import demo_words


def test_a_home_hangs_on_its_number_and_the_seed_alone() -> None:
    assert list(demo_homes(5))[4] == demo_home(5) != demo_home(5, seed=2)
    assert demo_text(3).splitlines() == demo_text(6).splitlines()[:4]


@pytest.mark.parametrize("truth", [False, True])
def test_every_home_can_be_read(truth: bool, tmp_path: Path) -> None:
    path = tmp_path / "homes.csv"
    path.write_text(demo_text(200, truth=truth), "utf-8")
    homes = [home_of_row(row) for row in read_rows(path)]
    assert [home for home in homes if not isinstance(home, FleetHome)] == []
    assert len({home.home_id for home in homes}) == 200


def test_what_the_company_knows_lies_near_the_truth(tmp_path: Path) -> None:
    known, truth = (pd.read_csv(io.StringIO(demo_text(300, truth=each))) for each in (False, True))
    assert (known["id"] == truth["id"]).all()
    key = "house.perimeter"
    told = known[key].notna()
    assert 0.65 < told.mean() < 0.85  # three in four are known
    feet = [frame.loc[told, key].str.split(" ").str[0].astype(float) for frame in (known, truth)]
    # told by 5 % of the value or measured by 1 %: never off by five of the wider
    assert ((feet[0] - feet[1]).abs() < 0.25 * feet[1]).all()
    assert (feet[0] != feet[1]).mean() > 0.9
    assert (
        known["ground.native_k_factor"].isna().all()
        and truth["ground.native_k_factor"].notna().all()
    )
    assert known["ground.soil"].equals(truth["ground.soil"])


def test_the_command_writes_both_tables_and_says_what_comes_next(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, truth = tmp_path / "homes.csv", tmp_path / "truth.csv"
    assert main(["fleet", "demo", "4", "--out", str(out), "--truth", str(truth)]) == 0
    said = capsys.readouterr().out
    assert f"4 invented homes stand in {out}." in said and str(truth) in said
    assert "needs a record, --rain" in said
    (command,) = [line for line in said.splitlines() if line.startswith("  riskkit fleet run ")]
    assert main([*shlex.split(command)[1:], "--draws", "16", "--past", "0", "--workers", "1"]) == 0
    assert "4 homes are worked out" in capsys.readouterr().out
    assert out.read_text("utf-8") == demo_text(4)
    assert truth.read_text("utf-8") == demo_text(4, truth=True)
    assert main(["fleet", "demo", "0", "--out", str(out)]) == 2
    with pytest.raises(InputError):
        next(demo_homes(0))


def test_without_the_invented_record_the_next_command_names_a_place_for_one() -> None:
    lines = demo_words(1, Path("my homes.csv"), None, None)
    assert lines[-1] == "  riskkit fleet run 'my homes.csv' --rain RECORD --out 'my homes_run'"


@pytest.mark.parametrize("seed", [3, 5, 7])
def test_ground_water_above_the_floor_is_read_as_it_was_written(seed: int, tmp_path: Path) -> None:
    """A level below zero begins like a formula: it goes out guarded, and comes in as it was."""
    (tmp_path / "truth.csv").write_text(text := demo_text(60, seed, truth=True), "utf-8")
    assert "\"'-" in text
    homes = [home_of_row(row) for row in read_rows(tmp_path / "truth.csv")]
    assert not [home.reason for home in homes if isinstance(home, BadRow)]
    depths = [demo_home(number, seed).truth["ground.water_table_depth"] for number in (1, 60)]
    for home, depth in zip((homes[0], homes[-1]), depths, strict=True):
        assert isinstance(home, FleetHome)
        found = home.home.quantity("ground.water_table_depth")
        assert found is not None and found.value == pytest.approx(
            float(depth.split()[0]) * 0.0254, abs=1e-6
        )
