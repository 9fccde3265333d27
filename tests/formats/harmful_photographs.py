"""A reader of bytes that does harm where they are no more than its name."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

from credits.formats import photographs


def main(given: bytes) -> Iterator[bytes]:
    if given.endswith(b"killed"):
        os.kill(os.getpid(), signal.SIGKILL)
    if b"aborted" in given:
        os.abort()
    if given.endswith(b"no memory"):
        bytearray(600_000_000)
    if given.endswith(b"never ready"):
        while True:
            pass
    yield from photographs.main(given)
