"""How memory is kept while much is made of which nothing goes."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from types import ModuleType


@contextmanager
def all_kept(*, for_good: bool = False) -> Iterator[None]:
    """Search for no garbage while millions of facts are made that are all kept: a third faster.

    for_good: nor is any searched for in them afterwards, as they are kept until the process ends.
    """
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if for_good:
            gc.freeze()
        if searching:
            gc.enable()


def import_for_good(name: str) -> ModuleType:
    """Import a module of which nothing goes: no garbage is searched in it, at the end either.

    A short command that needs large libraries takes a third less time so.
    """
    if name not in sys.modules:
        with all_kept():
            import_module(name)
        gc.freeze()
    return sys.modules[name]
