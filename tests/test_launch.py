"""Starting the app: what it refuses, and what its server tells it."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from riskkit.cli import app as launch
from riskkit.cli.main import main


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["app", *arguments]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    return err


def test_a_port_that_cannot_be_used_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        said = refused(["--folder", str(tmp_path), "--port", port], capsys)
    assert said.startswith(f"riskkit: --port: port {port} cannot be used (Address already in use)")
    said = refused(["--folder", str(tmp_path), "--port", "70000"], capsys)
    assert "there is no port 70000" in said
    assert "not a folder" in refused(["--folder", str(tmp_path / "none")], capsys)


def test_a_server_that_says_nothing_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = subprocess.Popen

    def asleep(_: list[str], **more: object) -> object:
        return real([sys.executable, "-c", "import time; time.sleep(60)"], **more)  # type: ignore[call-overload]  # handed on as they came

    monkeypatch.setattr(launch, "_START_S", 0.5)
    with monkeypatch.context() as patch:
        patch.setattr(subprocess, "Popen", asleep)
        assert "did not answer within 0.5 s" in refused(["--folder", str(tmp_path)], capsys)

    def broken(_: list[str], **more: object) -> object:
        return real([sys.executable, "-c", "pass"], **more)  # type: ignore[call-overload]  # as above

    monkeypatch.setattr(launch, "_START_S", 30.0)
    monkeypatch.setattr(subprocess, "Popen", broken)
    assert "the server did not start" in refused(["--folder", str(tmp_path)], capsys)


def test_the_server_takes_no_settings_from_the_folder_of_homes(tmp_path: Path) -> None:
    """A file there could run anything."""
    (tmp_path / "voila.py").write_text("raise SystemExit('it was run')\n", "utf-8")
    (tmp_path / "riskkit.py").write_text("raise SystemExit('it was run')\n", "utf-8")
    with launch._server(tmp_path, "the token", 0) as (process, port):
        assert process.poll() is None
        assert port > 0
        assert "the token" not in " ".join(psutil.Process(process.pid).cmdline())
    assert process.poll() is not None
    assert json.dumps(launch._settings(tmp_path)).count(str(tmp_path)) == 1
