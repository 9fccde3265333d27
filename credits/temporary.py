"""A folder for a moment, among the system's temporary ones."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from credits.unfinished import unfinished


@contextmanager
def own_folder() -> Iterator[Path]:
    """Make a folder for this user alone while the block runs; what killed programs left goes.

    Raises OSError.
    """
    place = Path(tempfile.gettempdir(), "credits")
    with unfinished(place, folder=True, mode=0o700) as folder:
        yield folder
