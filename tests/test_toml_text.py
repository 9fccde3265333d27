"""TOML that is too long or too deep is refused in words, at once."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest

from credits.toml_text import LONGEST_FILE, parse_toml, toml_bytes

HARM = {
    "lists in lists": "a = " + "[" * 100_000 + "]" * 100_000,
    "tables in tables": "a = " + "{b = " * 100_000 + "1" + "}" * 100_000,
    "a key of many parts": ".".join("a" * 20_000) + " = 1",
    "a table of many parts": "[" + ".".join("a" * 20_000) + "]",
    "quoted parts": ".".join(['"a b"'] * 20_000) + " = 1",
    "a number of many digits": "a = " + "9" * 5_000,
    "parts far apart": " . ".join("a" * 20_000) + " = 1",
}


@pytest.mark.parametrize("case", HARM)
def test_what_has_no_end_is_refused(case: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        parse_toml(HARM[case])


def test_what_people_write_is_read() -> None:
    text = '[a."b c".d]\ntext = "' + "One. Two. " * 20 + '"\nword = "' + "w" * 400_000 + '"'
    assert parse_toml(text) == tomllib.loads(text)


def test_only_ordinary_files_of_some_size_are_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "zero").symlink_to("/dev/zero")
    (tmp_path / "large").write_bytes(b"#" * (LONGEST_FILE + 1))
    (tmp_path / "right").write_bytes(b"a = 1")
    for name in ("pipe", "zero", "large"):
        with pytest.raises(OSError, match="it "):
            toml_bytes(tmp_path / name)
    assert toml_bytes(tmp_path / "right") == b"a = 1"
