"""The computing process of one page: a kernel that ends with the server that started it.

``python -m riskkit.widgets.kernel -f FILE`` is what the server calls. A server that is killed has
no time to end its kernels, and each holds some hundreds of megabytes.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time

__all__ = ["end_with_parent", "main"]

_LOOK_S = 1.0
_DEATH_SIGNAL = 1  # PR_SET_PDEATHSIG of prctl(2)


def end_with_parent() -> None:
    """End this process when the one that started it ends, however that ends.

    Linux is asked to do so; elsewhere, and beside it, a thread looks who the parent is. On Windows
    the kernel itself waits for the handle of its parent.
    """
    if sys.platform == "win32":
        return
    parent = int(os.environ.get("JPY_PARENT_PID") or os.getppid())
    if sys.platform == "linux":
        import ctypes

        with contextlib.suppress(OSError):  # a C library without it: the thread is enough
            ctypes.CDLL(None).prctl(_DEATH_SIGNAL, signal.SIGKILL, 0, 0, 0)

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(_LOOK_S)
        os._exit(1)

    if os.getppid() != parent:  # it ended before it was watched
        os._exit(1)
    threading.Thread(target=watch, daemon=True).start()


def main() -> None:
    """Run a kernel."""
    end_with_parent()
    from ipykernel.kernelapp import launch_new_instance

    launch_new_instance()


if __name__ == "__main__":
    main()
