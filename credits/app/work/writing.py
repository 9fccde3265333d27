"""The log opened to be written to: what was written is in the figures when the command ends."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from credits.figures.keep import renew_figures
from credits.figures.renewal import MOST_AT_ONCE
from credits.store.log import Log, open_log


@contextmanager
def open_to_write(folder: Path, most: int | None = MOST_AT_ONCE) -> Iterator[Log]:
    """Open the log; at the end the figures are renewed by what was written.

    most: where more shots than these are touched, they wait for whoever asks next; None: nothing
    waits. Raises what ``open_log`` raises; figures that cannot be renewed wait, too.
    """
    with open_log(folder) as log:
        yield log
        if log.has_written:
            renew_figures(folder, most)
