"""A reader of workbooks that does harm: which, the name of the file says."""

from __future__ import annotations

import os
import resource
import signal
import time
from collections.abc import Iterator
from pathlib import Path


def main(path: str) -> Iterator[bytes]:
    yield b'["sheet","people",false,"",[],[]]\n["rows",[["person","credit_name"],["ana","Ana"]]]\n'
    match Path(path).stem:
        case "killed":
            os.kill(os.getpid(), signal.SIGKILL)
        case "asked to end":
            os.kill(os.getpid(), signal.SIGTERM)
        case "aborted":
            os.abort()
        case "out of bounds":
            os.kill(os.getpid(), signal.SIGSEGV)
        case "raised":
            raise KeyError(path)
        case "left":
            os._exit(0)
        case "no memory":
            bytearray(600_000_000)
        case "no memory for a library":
            os.write(2, b"memory allocation of 600000000 bytes failed\n")
            os.abort()
        case "never ready":
            while True:
                pass
        case "asleep":
            time.sleep(600)
        case "bounds":
            kinds = (resource.RLIMIT_CPU, resource.RLIMIT_AS, resource.RLIMIT_CORE)
            bounds = [str(resource.getrlimit(kind)[0]) for kind in kinds]
            yield f'["rows",[["{bounds[0]}","{bounds[1]}","{bounds[2]}"]]]\n'.encode()
    yield b'["end"]'
