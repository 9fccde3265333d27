"""The entries of new lines as they stand, put beside the log in one statement.

What a line implies is found in Python, once for all lines that name the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from credits.store.beside.figures_db import LOG, STANDING
from credits.store.reading import LogReader

_NAMED = ("craft", "character", "puppet", "part", "take")
_IMPLIED = {
    "targets": f"{', '.join(_NAMED)}, in_shot, as_character, as_puppet, as_take,"
    f" UNIQUE ({', '.join(_NAMED)}, in_shot)",
    "persons": "code PRIMARY KEY, one",
}
"""What lines imply, while entries are put in that say nothing else than they do."""


class NewEntries(LogReader):
    """Puts the entries of new lines in; the figures are open, with the log attached."""

    def named_after(self, after: int) -> list[tuple[Any, ...]]:
        """Read what lines behind a place of the log name, each once: craft, character, puppet,
        part and take, and whether they name a shot."""
        return self.driver.execute(
            f"SELECT DISTINCT {', '.join(_NAMED)}, shot IS NOT NULL FROM {LOG}.entries"
            " WHERE line > ? AND verb = 'record'",
            (after,),
        ).fetchall()

    def standing_after(self, after: int) -> list[tuple[Any, ...]]:
        """Read the entries that are recorded behind a place of the log, as STANDING."""
        return self.driver.execute(
            f"SELECT {', '.join(STANDING)} FROM main.standing WHERE record > ?", (after,)
        ).fetchall()

    def stand_new(
        self, after: int, targets: Iterable[Sequence[Any]], persons: Iterable[tuple[str, str]]
    ) -> None:
        """Put in the entries behind a place of the log that are not corrected yet.

        targets: what they name, as ``named_after``, and behind it the character, the puppet and
        the take that this implies. persons: codes that stand for another, and that other.
        """
        for name, columns in _IMPLIED.items():
            self.driver.execute(f"CREATE TEMP TABLE IF NOT EXISTS {name} ({columns})")
            self.driver.execute(f"DELETE FROM temp.{name}")
        marks = ", ".join("?" * (len(_NAMED) + 4))
        self.driver.executemany(f"INSERT INTO temp.targets VALUES ({marks})", targets)
        self.driver.executemany("INSERT INTO temp.persons VALUES (?, ?)", persons)
        names = " AND ".join(f"t.{name} IS e.{name}" for name in _NAMED)
        self.driver.execute(
            "INSERT INTO main.standing SELECT e.line, e.line, e.origin, e.number, e.origin,"
            " e.number, e.ref, e.craft, coalesce(p.one, e.person), t.as_character, t.as_puppet,"
            " e.part, e.sequence, e.shot, t.as_take, e.frames, e.share,"
            " coalesce(e.finished_on, e.started_on), e.stage"
            f" FROM {LOG}.entries e CROSS JOIN temp.targets t"
            " LEFT JOIN temp.persons p ON p.code = e.person"
            f" WHERE e.line > ? AND e.verb = 'record' AND {names}"
            " AND t.in_shot = (e.shot IS NOT NULL)"
            " AND e.line NOT IN (SELECT record FROM main.corrections) ORDER BY e.line",
            (after,),
        )
