"""Hearing that something was written to a log on a server; what is a file is looked at instead."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import Protocol, cast
from weakref import finalize

from credits.errors import CreditsError
from credits.store.place import address_of, opened_log


class Ear(Protocol):
    """A connection that the server tells what was written."""

    def listen(self) -> None:
        """Begin to listen."""

    def heard(self, seconds: float) -> bool:
        """Wait until something was written, or so long; True: something was."""

    def close(self) -> None:
        """Close the connection."""


class LogNews:
    """Hears of what is written to a log. Of a log in a file it hears nothing: look at the file.

    times: how often something was heard. Where the server cannot be asked, something may have been
    written, which counts as heard; whoever reads the log then is told what is wrong.
    """

    def __init__(self, folder: Path) -> None:
        """Begin to listen, where the log of the production in a folder is on a server."""
        self._address = address_of(folder)
        self._ear: Ear | None = None
        self.times = 0
        self._listen()

    @property
    def hears(self) -> bool:
        """Tell whether there is a server that tells what is written."""
        return self._address is not None

    def _listen(self) -> None:
        if self._address is None:
            return
        with suppress(CreditsError):
            ear = cast("Ear", opened_log(self._address))
            try:
                ear.listen()
            except BaseException:
                ear.close()
                raise
            self._ear = ear
            finalize(self, ear.close)

    def wait(self, seconds: float) -> bool:
        """Wait so long, or until something is written. True: something was, or may have been."""
        if self._address is None:
            time.sleep(seconds)
            return False
        heard = self._heard(seconds)
        self.times += heard
        return heard

    def _heard(self, seconds: float) -> bool:
        if self._ear is None:
            self._listen()
            if self._ear is None:
                time.sleep(seconds)
            return True  # it may have been written while nobody listened
        try:
            return self._ear.heard(seconds)
        except CreditsError:
            self.close()
            return True

    def close(self) -> None:
        """Stop listening; what is asked afterwards begins anew."""
        if self._ear is not None:
            with suppress(CreditsError):
                self._ear.close()
        self._ear = None
