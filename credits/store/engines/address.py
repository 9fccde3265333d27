"""The address of a log on a server, as ``production.toml`` names it.

No password stands in it: the file is passed on with the folder. The engine's own ways give it,
PGPASSWORD or a file of passwords (``~/.pgpass``).
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import NamedTuple
from urllib.parse import parse_qsl, urlsplit

from credits.errors import Finding, Place, ProblemsFound
from credits.toml_text import parse_toml, toml_bytes

SETTINGS_NAME = "production.toml"
KEY = "log"
SCHEMES = ("postgresql://", "postgres://")
EXAMPLE = "postgresql://ana@db.example.org/film"
_SECRET = ("password", "sslpassword")


class Address(NamedTuple):
    """Where a log is kept on a server. text: as it was written."""

    text: str

    @property
    def name(self) -> str:
        """Return what people read: without who connects and how."""
        said = urlsplit(self.text)
        given = dict(parse_qsl(said.query))
        host = (said.netloc.rpartition("@")[2] or given.get("host", "")).rstrip("/")
        database = said.path.strip("/") or given.get("dbname", "")
        return f"postgresql://{'' if host.startswith('/') else host}/{database}"

    def __str__(self) -> str:
        return self.name


def is_address(text: str) -> bool:
    """Tell whether a text is meant as an address and not as a file or folder."""
    return text.startswith(SCHEMES)


def checked_address(text: object, place: Place | None = None, column: str = KEY) -> Address:
    """Return the address that a text is. Raises ProblemsFound, also where a password is in it."""
    if not isinstance(text, str) or not is_address(text):
        hint = f'Write {KEY} = "{EXAMPLE}", or leave it out: the log is production.db then.'
        raise ProblemsFound(
            Finding("is no address of a log on a server", hint, place, column, str(text))
        )
    try:
        said = urlsplit(text)
        given, _ = dict(parse_qsl(said.query)), said.port
        secret = said.password is not None or any(name in given for name in _SECRET)
    except ValueError as error:
        hint = f"Write it as {EXAMPLE}."
        raise ProblemsFound(Finding(f"is no address ({error})", hint, place, column)) from error
    if secret:  # which is not said again
        what = "holds a password, which whoever gets the folder could read"
        hint = "Take it out; give it in the variable PGPASSWORD, or in the file ~/.pgpass."
        raise ProblemsFound(Finding(what, hint, place, column))
    return Address(text)


def address_in(folder: Path) -> Address | None:
    """Return the address that the settings of a production name; None: they name none.

    Settings that cannot be read name none: whoever reads the settings says what is wrong with them.
    Raises ProblemsFound for what is no address.
    """
    try:
        said = parse_toml(toml_bytes(folder / SETTINGS_NAME).decode("utf-8-sig")).get(KEY)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return None
    return None if said is None else checked_address(said, Place(SETTINGS_NAME))
