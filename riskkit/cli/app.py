"""``riskkit app``: serve the notebooks as pages, on this machine alone.

The notebooks are run by Voilà behind an address that only this machine reaches and that asks for a
token. Kernels are started ahead, so that a page is there in about two seconds. The server ends with
this process, and the kernels with the server, however these end.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import secrets
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.errors import InputError
from riskkit.folders import FOLDER_VARIABLE, notebooks_folder, page_templates

__all__ = ["COMMAND", "serve"]

_START_S = 60.0
_END_S = 15.0
_LOST_S = 300  # a kernel without a page for so long is given up
_LOOK_S = 30


def _settings(folder: Path) -> dict[str, object]:
    return {
        "Voila": {
            "open_browser": False,
            "log_level": "ERROR",
            "root_dir": str(notebooks_folder()),
            "token": "",  # access control before the server asks for it
            "identity_provider_class": "riskkit.widgets.server.OneUser",
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
            "kernel_spec_manager_class": "riskkit.widgets.server.OwnKernels",
            "multi_kernel_manager_class": "riskkit.widgets.server.LostKernels",
        },
        # a page tells when it is closed, but not when its browser is killed
        "MappingKernelManager": {"cull_idle_timeout": _LOST_S, "cull_interval": _LOOK_S},
        # sockets of this user instead of ports that any user of the machine could reach
        "KernelManager": {"transport": "ipc" if os.name == "posix" else "tcp"},
        "VoilaKernelManager": {
            "default_env_variables": {FOLDER_VARIABLE: str(folder)},
            # opened seldom, and a kernel ahead holds some hundreds of megabytes
            "preheat_denylist": [
                "05_analyst.ipynb",
                "06_company.ipynb",
                "07_company_in_python.ipynb",
            ],
        },
    }


@contextlib.contextmanager
def _server(folder: Path, token: str, port: int) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """Run the server, which ends when its standard input does; the port where it listens."""
    paths = os.pathsep.join(p for p in (str(page_templates()), os.environ.get("JUPYTER_PATH")) if p)
    environment = os.environ | {FOLDER_VARIABLE: str(folder), "JUPYTER_PATH": paths}
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "riskkit.widgets.server"],
        env=environment,
        cwd=folder,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,  # so that Ctrl-C reaches this process alone, which ends it
    )
    try:
        yield process, _told_port(process, {"token": token, "port": port,
                                            "settings": _settings(folder)})  # fmt: skip
    finally:
        _end(process)


def _told_port(process: subprocess.Popen[bytes], asked: dict[str, object]) -> int:
    asking, answering = process.stdin, process.stdout
    if asking is None or answering is None:
        raise ValueError("the server has no pipes")
    too_late = threading.Timer(_START_S, process.kill)
    too_late.start()
    try:
        asking.write(json.dumps(asked).encode() + b"\n")
        asking.flush()
        line = answering.readline()
    except BrokenPipeError:
        line = b""
    finally:
        in_time = too_late.is_alive()
        too_late.cancel()
    if not line:
        what = "did not start" if in_time else f"did not answer within {_START_S:g} s"
        raise InputError("riskkit app", f"the server {what}", "its message is above")
    answer = json.loads(line)
    if "fault" in answer:
        what = f"port {asked['port']} cannot be used ({answer['fault']})"
        raise InputError("--port", what, "leave it out or give another")
    return int(answer["port"])


def _end(process: subprocess.Popen[bytes]) -> None:
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):  # it has ended already
                pipe.close()
    if process.poll() is None:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(_END_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


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
    if not 0 <= port <= 65535:
        raise InputError("--port", f"there is no port {port}", "it is from 1 to 65535")
    token = secrets.token_urlsafe(24)
    with _server(folder, token, port) as (process, port):
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


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", type=int, default=0, help="port (default: any that is free)")
    parser.add_argument("--folder", type=Path, default=Path(), metavar="FOLDER",
                        help="where home files are (default: here)")  # fmt: skip


def _run(options: argparse.Namespace) -> int:
    def tell(text: str) -> None:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()

    return serve(options.folder, options.port, tell)


COMMAND = Command(
    "app",
    "serve the pages on this machine",
    _add_options,
    _run,
    examples=(
        "",
        "--folder homes",
    ),
)
