"""The program ``credits``, also as ``python -m credits``: Ctrl-C ends it from its first moment."""

from __future__ import annotations

import gc
import os
import signal
import sys

from credits.memory import import_for_good

STOPPED = 130  # 128 + SIGINT


def _stop(*_: object) -> None:
    """End before any command has begun."""
    os.write(2, b"Stopped. Nothing was written.\n")
    os._exit(STOPPED)


def main() -> int:
    """Run the command that was called and return its exit status."""
    ignored = signal.getsignal(signal.SIGINT) == signal.SIG_IGN  # as in a job in the background
    if not ignored:
        signal.signal(signal.SIGINT, _stop)
    run = import_for_good("credits.cli.main").run
    if not ignored:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # ``run`` has its own; nothing after it
    status = int(run(stoppable=not ignored))
    gc.freeze()  # Python looks for garbage as it ends, among everything that goes with it
    return status


if __name__ == "__main__":
    sys.exit(main())
