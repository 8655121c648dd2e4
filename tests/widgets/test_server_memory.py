"""The server of the pages lets go of what a page was rendered with when its kernel ends."""

from __future__ import annotations

import asyncio
import gc
import weakref

import pytest
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager

from riskkit.widgets.server import LostKernels


class Leftover:
    """Holds itself, as templates and handlers of a page hold each other."""

    def __init__(self) -> None:
        self.me = self


def test_circles_of_a_page_go_with_its_kernel(monkeypatch: pytest.MonkeyPatch) -> None:
    ended: list[tuple[str, bool, bool]] = []

    async def end(_: object, kernel_id: str, now: bool, restart: bool) -> None:
        ended.append((kernel_id, now, restart))

    monkeypatch.setattr(AsyncMappingKernelManager, "shutdown_kernel", end)
    gc.disable()
    try:
        left = weakref.ref(Leftover())
        assert left() is not None
        asyncio.run(LostKernels().shutdown_kernel("one", now=True))
        assert left() is None
    finally:
        gc.enable()
    assert ended == [("one", True, False)]
