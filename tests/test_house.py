"""The house rules that a command can check: layers, types, style, size, weight."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import riskkit

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = {
    "layers": ["lint-imports", "--no-cache"],  # which looks at times of files, not at them
    "types": [sys.executable, "-m", "mypy"],
    "style": [sys.executable, "-m", "ruff", "check"],
    "layout": [sys.executable, "-m", "ruff", "format", "--check"],
}


@pytest.mark.parametrize("rule", COMMANDS)
def test_rule(rule: str) -> None:
    command = COMMANDS[rule]
    if rule == "layers":
        command = [str(Path(sys.executable).parent / command[0]), *command[1:]]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]


def test_modules_are_short() -> None:
    lengths = {
        path.relative_to(ROOT): len(path.read_text(encoding="utf-8").splitlines())
        for path in (ROOT / "riskkit").rglob("*.py")
    }
    assert len(lengths) > 30
    assert {path: n for path, n in lengths.items() if n > 500} == {}


def test_public_names_exist() -> None:
    assert sorted(riskkit.__all__) == riskkit.__all__
    for name in riskkit.__all__:
        assert getattr(riskkit, name).__name__ == name


def test_import_is_light() -> None:
    code = "import riskkit, sys; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    heavy = {"numpy", "pandas", "numba", "altair", "pvlib", "ipywidgets", "pint", "pydantic"}
    assert heavy.isdisjoint(done.stdout.split())


def test_an_answer_waits_for_no_slow_import() -> None:
    """scipy.stats alone would take half as long again as all that an answer needs."""
    code = "import riskkit.assessment, riskkit.report.words, sys; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    slow = {"scipy.stats", "altair", "pvlib", "ipywidgets", "voila", "typst"}
    assert slow.isdisjoint(done.stdout.split())


def test_assess_imports_no_more_than_it_needs() -> None:
    """What a person waits for is half imports; each of these takes a tenth of a second or more."""
    code = (
        "import sys; from riskkit.cli.main import main;"
        "assert main(['assess', 'demo_sites/split_level_on_clay.toml', '--draws', '16']) == 0;"
        "print(); print(*sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    loaded = set(done.stdout.splitlines()[-1].split())
    assert {"riskkit.assessment", "numba", "rich.console"} <= loaded
    slow = {
        "altair", "dask", "distributed", "ipywidgets", "jinja2", "matplotlib", "pandas", "pint",
        "pvlib", "pyarrow", "requests", "scipy.interpolate", "scipy.optimize", "scipy.signal",
        "scipy.sparse", "scipy.stats", "typst", "voila", "xarray",
    }  # fmt: skip
    assert slow.isdisjoint(loaded)


def test_checks_are_those_of_the_tests_and_stand_in_their_readme() -> None:
    from riskkit.report.checks import checks_markdown, checks_rows

    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--validation-table=print", "-q", "tests/published"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    table = (ROOT / "riskkit" / "tables" / "checks.csv").read_text(encoding="utf-8")
    assert table in done.stdout, "pytest --validation-table=write tests/published"
    assert len(checks_rows()) > 40
    assert shown_in("tests/published/README.md", "checks", "end") == checks_markdown()


def shown_in(readme: str, begin: str, end: str) -> str:
    """Return what stands between two comments of a README."""
    text = (ROOT / readme).read_text(encoding="utf-8")
    shown = re.search(rf"<!-- {begin} -->\n(.*?)\n<!-- {end} -->", text, re.DOTALL)
    assert shown is not None
    return shown.group(1)


def test_links_and_pictures_of_the_readmes_are_there() -> None:
    for readme in ("README.md", "demo_sites/README.md", "tests/published/README.md"):
        path = ROOT / readme
        for link in re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8")):
            assert (path.parent / link).is_file(), f"{readme}: {link}"
    assert len((ROOT / "README.md").read_text(encoding="utf-8").splitlines()) < 140


def test_every_command_has_a_file_and_stands_in_the_list_the_help_and_the_readme(
    capsys: pytest.CaptureFixture[str],
) -> None:
    from riskkit.cli.commands import COMMANDS
    from riskkit.cli.main import main

    files = {path.stem for path in (ROOT / "riskkit" / "cli").glob("[!_]*.py")}
    names = [command.name for command in COMMANDS]
    assert sorted(names) == sorted(files - {"main", "commands"})
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert set(re.findall(r"^\| `riskkit (\w+)", readme, re.MULTILINE)) == set(names)
    with pytest.raises(SystemExit, match="0"):
        main(["--help"])
    told = " ".join(capsys.readouterr().out.split())
    for command in COMMANDS:
        assert f"{command.name} {command.help}" in told


def test_commands_and_options_of_the_readmes_are_there(
    capsys: pytest.CaptureFixture[str],
) -> None:
    from riskkit.cli.main import main

    rows = re.findall(
        r"^\| (`riskkit .*?) \|(.*)\|$", (ROOT / "README.md").read_text("utf-8"), re.M
    )
    assert len(rows) > 9
    for commands, words in rows:
        for command in re.findall(r"`riskkit (\w+)", commands):
            with pytest.raises(SystemExit, match="0"):
                main([command, "--help"])
            told = capsys.readouterr().out
            assert all(option in told for option in re.findall(r"--[a-z-]+", commands + words))
    told = ""
    for command in ("assess", "rain", "season", "check", "log"):
        with pytest.raises(SystemExit, match="0"):
            main([command, "--help"])
        told += capsys.readouterr().out
    demo = (ROOT / "demo_sites" / "README.md").read_text("utf-8")
    assert [o for o in re.findall(r"`(--[a-z-]+)", demo) if o not in told] == []


def test_the_map_of_contributors_names_what_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:\w+/)+\w*(?:\.\w+)?)`", text))
    assert len(named) > 25
    lost = [n for n in named if not (ROOT / n).exists() and not (ROOT / "riskkit" / n).exists()]
    assert lost == []
    picture = text.split("```")[1]
    inside = (ROOT / "riskkit").iterdir()
    parts = {path.stem for path in inside if path.name[0] != "_" and path.name != "py.typed"}
    assert {part for part in parts if not re.search(rf"\b{part}\b", picture)} == set()


def test_readme_holds_the_keys_of_a_home_file() -> None:
    from riskkit.home.home import Home
    from riskkit.quantities.quantity import read_quantity
    from riskkit.quantities.variables import variables
    from riskkit.report.keys import example_of, keys_table

    shown = shown_in("demo_sites/README.md", "keys", "end keys")
    assert shown == keys_table()
    known = {
        f"{name}.{key}"
        for name, field in Home.model_fields.items()
        for key in getattr(field.annotation, "model_fields", {})
    }
    assert set(re.findall(r"^\| `(\w+\.\w+)` \|", shown, re.MULTILINE)) == known
    for item in variables().values():
        for written in example_of(item).split(" or "):
            read = read_quantity(written.strip('"'), item, item.key) if '"' in written else None
            assert read or read_quantity(float(written), item, item.key)


def test_every_source_is_used_and_none_is_unknown() -> None:
    from riskkit.tables import load_sources

    text = "".join(
        path.read_text(encoding="utf-8")
        for folder in ("riskkit", "tests/published")
        for path in (ROOT / folder).rglob("*")
        if path.suffix in (".py", ".csv")
    )
    unused = [key for key in load_sources() if not re.search(rf"\b{key}\b", text)]
    assert unused == []


def test_the_study_of_faults_knows_where_modules_and_their_tests_are() -> None:
    from speed.study_mutation import GOLDEN, TESTS, faults_of

    assert all((ROOT / "riskkit" / module).is_file() for module in TESTS)
    named = {path for tests in (*TESTS.values(), GOLDEN) for path in tests}
    assert [path for path in sorted(named) if not (ROOT / path).exists()] == []
    fault = faults_of("ensemble/quantiles.py")[0]
    changed = fault.source()
    assert changed != (ROOT / "riskkit/ensemble/quantiles.py").read_text(encoding="utf-8")
    compile(changed, "changed", "exec")
