"""Asking the network: is it there, try again a few times, never wait without end."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlsplit
from urllib.request import getproxies, proxy_bypass

import requests

from riskkit.errors import InputError, NoNetworkError
from riskkit.files import write_bytes
from riskkit.limits import TABLE_BYTES

__all__ = ["download", "host_of", "keep_trying", "reachable"]

T = TypeVar("T")

CONNECT_S, READ_S = 5.0, 60.0  # the longest waits for a connection and for an answer
CHECK_S = 1.5  # the longest wait to see whether a host is there at all
PAUSES_S = (1.0, 3.0)  # before the second and the third attempt; then it is given up
TOO_MANY_REQUESTS, SERVER_FAULT, NOT_FOUND = 429, 500, 404


def host_of(address: str) -> str:
    """Host that an address is at.

    Parameters
    ----------
    address : str
        Such as ``https://example.org/stations``.

    Returns
    -------
    str
        The host, with its port where it is written.
    """
    return urlsplit(address).netloc


def reachable(addresses: Sequence[str], wait_s: float | None = None) -> dict[str, bool]:
    """Try to connect to hosts, all at once, and say which are there.

    Where a proxy is set for this machine, the proxy is tried instead.

    Parameters
    ----------
    addresses : sequence of str
        Addresses.
    wait_s : float, optional
        The longest wait [s]; 1.5 where absent.

    Returns
    -------
    dict of str to bool
        Whether each address can be connected to.
    """
    wait_s = CHECK_S if wait_s is None else wait_s
    found = dict.fromkeys(addresses, False)

    def try_one(address: str) -> None:
        try:
            socket.create_connection(_end(address), timeout=wait_s).close()
        except OSError:
            return
        found[address] = True

    # looking up a name has no timeout of its own, so a thread that hangs is left behind
    threads = [threading.Thread(target=try_one, args=(one,), daemon=True) for one in found]
    for thread in threads:
        thread.start()
    until = time.monotonic() + wait_s
    for thread in threads:
        thread.join(max(0.0, until - time.monotonic()))
    return dict(found)


def _end(address: str) -> tuple[str, int]:
    parts = urlsplit(address)
    proxy = getproxies().get(parts.scheme)
    if proxy and not proxy_bypass(parts.hostname or ""):
        parts = urlsplit(proxy if "//" in proxy else f"//{proxy}", scheme="http")
    return parts.hostname or "", parts.port or (443 if parts.scheme == "https" else 80)


def keep_trying(call: Callable[[], T], what: str) -> T:
    """Call, and again after a pause where the network or the server is at fault.

    Parameters
    ----------
    call : callable
        What to do; it raises OSError, of which the errors of requests are a kind.
    what : str
        What is being asked, for the message.

    Returns
    -------
    T
        What the call returned.

    Raises
    ------
    NoNetworkError
        Where every attempt failed.
    requests.HTTPError
        At once, where the server refuses: asking again would not help.
    """
    for pause_s in (*PAUSES_S, None):
        try:
            return call()
        except OSError as error:
            response = getattr(error, "response", None)
            status = SERVER_FAULT if response is None else response.status_code
            if status < SERVER_FAULT and status != TOO_MANY_REQUESTS:
                raise
            if pause_s is None:
                tries = len(PAUSES_S) + 1
                said = f"{type(error).__name__} after {tries} attempts"
                raise NoNetworkError(f"{what}: it does not answer ({said}).") from None
        time.sleep(pause_s)
    raise AssertionError("the last attempt returns or raises")


def download(address: str, path: Path, what: str) -> bool:
    """Download a file whole, or leave what was there untouched.

    Parameters
    ----------
    address : str
        Where it is.
    path : Path
        The file to write; its folder exists.
    what : str
        What it is, for messages.

    Returns
    -------
    bool
        False where there is no such file at the source.

    Raises
    ------
    NoNetworkError
        Where the source does not answer.
    InputError
        Where it refuses, or the file is larger than 400 MB.
    """

    def get() -> bytes:
        with requests.get(address, timeout=(CONNECT_S, READ_S), stream=True) as response:
            response.raise_for_status()
            data = bytearray()
            for part in response.iter_content(1 << 16):
                data += part
                if len(data) > TABLE_BYTES:
                    raise InputError(what, f"it is larger than {TABLE_BYTES // 10**6} MB")
            length = response.headers.get("Content-Length")
            if length and not response.headers.get("Content-Encoding") and len(data) < int(length):
                raise ConnectionError("cut short")
            return bytes(data)

    try:
        write_bytes(path, keep_trying(get, what))
    except requests.HTTPError as error:
        if error.response.status_code == NOT_FOUND:
            return False
        raise InputError(what, f"it is refused ({error.response.status_code})") from None
    return True
