"""The answers for the demo homes stay what they were: regression values, not truths."""

from __future__ import annotations

from pathlib import Path

import pytest
from golden import answers

from riskkit.assessment import StormAnswer

COMMAND = 'python tests/golden/answers.py --reason "..."'


@pytest.mark.parametrize("home", answers.homes())
def test_answers_are_those_of_the_golden_file(home: str) -> None:
    golden = answers.read(answers.FOLDER / f"{home}.txt")
    moved = answers.differences(golden, answers.flat(answers.answer_of(home)))
    assert not moved, "\n".join(
        [f"{len(moved)} values of {home} moved; where that is meant: {COMMAND}", *moved[:40]]
    )


def test_every_field_of_every_storm_is_held() -> None:
    assert len(answers.homes()) == 4 and "home_just_met" in answers.homes()
    for home in answers.homes():
        golden = answers.read(answers.FOLDER / f"{home}.txt")
        for storm in ("001", "002", "005", "010", "025", "050", "100"):
            for name in answers.names_of(StormAnswer):
                begin = f"storms.{storm}_yr.{name}"
                assert any(path == begin or path.startswith(f"{begin}.") for path in golden), begin


def test_what_moved_is_seen_and_the_last_digit_of_another_machine_is_not() -> None:
    golden = {"time": "123.456", "never": "inf", "none": "None", "starts": "12", "depth": "0.0"}
    assert answers.differences(golden, golden | {"time": "123.4565", "depth": "1e-15"}) == []
    for other in (
        {"time": "123.458"}, {"time": "inf"}, {"never": "1e+300"}, {"never": "-inf"},
        {"none": "0"}, {"starts": "13"}, {"depth": "0.001"}, {"new": "1"},
    ):  # fmt: skip
        (key,) = other
        (said,) = answers.differences(golden, golden | other)
        assert said == f"{key}: {golden.get(key, '(not there)')} -> {other[key]}"
    assert answers.differences(golden, {}) != []


def test_renewal_writes_values_and_the_reason(tmp_path: Path) -> None:
    log = tmp_path / "LOG.md"
    log.write_text("## Changelog\n\n- 0.1.0: first.\n")
    home = "row_house_near_creek"
    (tmp_path / f"{home}.txt").write_text("dry_s.low = 1\n")
    (moved,) = answers.renew("The pump is newer now", [home], tmp_path, log)
    assert moved.startswith(f"{home} ") and moved.endswith(" values")
    golden = answers.read(answers.FOLDER / f"{home}.txt")
    assert answers.differences(golden, answers.read(tmp_path / f"{home}.txt")) == []
    said = " ".join(log.read_text().split("first.\n")[1].split())
    assert said == f"- Answers renewed: The pump is newer now ({moved})."
    before = log.read_text()
    assert answers.renew("Nothing at all changed", [home], tmp_path, log) == []
    assert log.read_text() == before


@pytest.mark.parametrize("arguments", [[], ["--reason", "because"], ["--reason", ""]])
def test_nothing_is_renewed_without_a_reason(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        answers.main(arguments)
    assert "--reason" in capsys.readouterr().err
