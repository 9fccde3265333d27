"""What is typed stands apart in a sentence, for every way in which a hint names a command."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.app.production import open_snapshot
from credits.site.commands import with_commands


@pytest.mark.parametrize(
    ("text", "typed"),
    [
        ("Ask: credits amend A-1 --finished-on DATE", ["credits amend A-1 --finished-on DATE"]),
        ("Take 2: credits amend A-1 --take 2; if not, add it.", ["credits amend A-1 --take 2"]),
        (
            "Read credits why ana. Or (credits correct people ana credit_name=NAME --why TEXT).",
            ["credits why ana", "credits correct people ana credit_name=NAME --why TEXT"],
        ),
        ("Ask: credits confirm PERSON, with --as NAME.", ["credits confirm PERSON"]),
        (
            "Compile with credits roll, and read: credits why 'a b. c'",
            ["credits roll", "credits why 'a b. c'"],
        ),
        ("Once more: credits log voice PERSON wick", ["credits log voice PERSON wick"]),
        ("The end credits log nothing.", []),
        ("Nothing is typed here.", []),
        ("", []),
    ],
)
def test_commands_are_found(text: str, typed: list[str]) -> None:
    said = with_commands(text)
    assert [piece for piece, is_typed in said if is_typed] == typed
    assert "".join(piece for piece, _ in said) == text


def test_no_hint_of_the_example_leaves_a_command_unmarked(example_production: Path) -> None:
    hints = [check.hint for check in open_snapshot(example_production).open_checks]
    named = [hint for hint in hints if "credits " in hint]
    assert len(named) > 10
    for hint in named:
        assert any(is_typed for _, is_typed in with_commands(hint)), hint
