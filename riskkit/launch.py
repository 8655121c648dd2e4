"""Serve the notebooks as pages on this machine alone: ``riskkit app``.

The notebooks are run by Voilà behind an address that only this machine reaches and that asks for a
token. Kernels are started ahead, so that a page is there in about two seconds.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from riskkit.errors import InputError

__all__ = ["FOLDER_VARIABLE", "invented_homes", "notebooks_folder", "serve"]

FOLDER_VARIABLE = "RISKKIT_FOLDER"
_START_S = 60.0
_TEMPLATES = Path(__file__).parent / "widgets" / "share"


def _beside_or_installed(name: str) -> Path | None:
    """Find a folder of the project: in a checkout beside the package, else where pip puts it."""
    places = (
        Path(__file__).resolve().parent.parent / name,
        Path(sysconfig.get_path("data")) / "share" / "riskkit" / name,
    )
    return next((place for place in places if place.is_dir()), None)


def invented_homes() -> Path | None:
    """Find the folder of the invented homes.

    Returns
    -------
    Path or None
        None where it is not installed.
    """
    return _beside_or_installed("demo_sites")


def notebooks_folder() -> Path:
    """Find the folder of the notebooks.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        Where it is not installed.
    """
    found = _beside_or_installed("notebooks")
    if found is None:
        raise InputError("notebooks", "their folder is not installed", "install riskkit again")
    return found


def _need_free(port: int) -> int:
    if not 0 <= port <= 65535:
        raise InputError("--port", f"there is no port {port}", "it is from 1 to 65535")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as error:
            raise InputError(
                "--port",
                f"port {port} cannot be used ({error.strerror})",
                "leave it out or give another",
            ) from None
        return int(probe.getsockname()[1])


def _settings(folder: Path, token: str, port: int) -> dict[str, object]:
    return {
        "Voila": {
            "ip": "127.0.0.1",
            "port": port,
            "port_retries": 0,
            "token": token,
            "open_browser": False,
            "log_level": "ERROR",
            "root_dir": str(notebooks_folder()),
            # on one machine a closed page is noticed without asking whether it is still there
            "tornado_settings": {"ws_ping_interval": 0},
        },
        "VoilaConfiguration": {
            "template": "riskkit",
            "classic_tree": True,
            "strip_sources": True,
            "preheat_kernel": True,
            "default_pool_size": 1,
            "allow_template_override": "NO",
            "allow_theme_override": "NO",
            "file_allowlist": [r".*\.(png|svg)"],
        },
        # sockets of this user instead of ports that any user of the machine could reach
        "KernelManager": {"transport": "ipc" if os.name == "posix" else "tcp"},
        "VoilaKernelManager": {"default_env_variables": {FOLDER_VARIABLE: str(folder)}},
    }


@contextlib.contextmanager
def _server(folder: Path, token: str, port: int) -> Iterator[subprocess.Popen[bytes]]:
    with tempfile.TemporaryDirectory(prefix="riskkit-") as config:
        path = Path(config) / "voila.json"
        path.touch(mode=0o600)  # the token is for this user alone
        path.write_text(json.dumps(_settings(folder, token, port)), encoding="utf-8")
        paths = os.pathsep.join(p for p in (str(_TEMPLATES), os.environ.get("JUPYTER_PATH")) if p)
        environment = os.environ | {FOLDER_VARIABLE: str(folder), "JUPYTER_PATH": paths}
        process = subprocess.Popen(  # noqa: S603 - our own interpreter and arguments
            [sys.executable, "-m", "voila", f"--Voila.config_file_paths={config}"],
            env=environment,
            cwd=folder,
            start_new_session=True,  # so that Ctrl-C reaches this process alone, which ends it
        )
        try:
            yield process
        finally:
            _end(process)


def _end(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is None:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_until_there(process: subprocess.Popen[bytes], port: int) -> None:
    end = time.monotonic() + _START_S
    while time.monotonic() < end:
        if process.poll() is not None:
            raise InputError("riskkit app", "the server did not start", "its message is above")
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            return
        time.sleep(0.1)
    raise InputError("riskkit app", f"the server did not answer within {_START_S:g} s")


def serve(folder: Path, port: int, tell: Callable[[str], None]) -> int:
    """Serve the pages until Ctrl-C.

    Parameters
    ----------
    folder : Path
        Where home files are read and written.
    port : int
        Port on this machine; 0 for any that is free [-].
    tell : callable
        Told the address, and when it ends.

    Returns
    -------
    int
        Exit status [-].

    Raises
    ------
    InputError
        Where the folder or the port cannot be used, or the server does not start.
    """
    folder = folder.resolve()
    if not folder.is_dir():
        raise InputError(str(folder), "this is not a folder", "make it first")
    port, token = _need_free(port), secrets.token_urlsafe(24)
    with _server(folder, token, port) as process:
        _wait_until_there(process, port)
        tell(f"Homes in {folder}")
        tell(
            f"Open this address in a browser on this machine:\n\n  http://127.0.0.1:{port}/?token={token}\n"
        )
        tell("Ctrl-C ends it.")
        with _told_to_end():
            process.wait()
            raise InputError("riskkit app", "the server stopped by itself", "its message is above")
    tell("Ended.")
    return 0


@contextlib.contextmanager
def _told_to_end() -> Iterator[None]:
    """Let Ctrl-C and a request to end both lead to an orderly end."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        with contextlib.suppress(KeyboardInterrupt):
            yield
    finally:
        signal.signal(signal.SIGTERM, before)
