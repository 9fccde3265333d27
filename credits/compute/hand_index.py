"""The entries that put hands into frames, by what they are looked up by (rule 3.6)."""

from __future__ import annotations

from collections import defaultdict

from credits.compute.hand import Via, build_target
from credits.model.facts import EntryNumber, Kind
from credits.model.ledger import Entry, Ledger


class HandIndex:
    """Build entries by thing, wide performance entries by character, crafts by entry.

    ``wide``: performance entries of crafts without footage that name no shot, by character and
    sequence (None: the whole part). ``craft_of``: the craft of every entry on a shot.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self.builds: dict[tuple[Via, str], list[Entry]] = defaultdict(list)
        self.wide: dict[tuple[str, str | None], list[Entry]] = defaultdict(list)
        self.craft_of: dict[EntryNumber, str] = {}
        for entry in ledger.entries:
            craft = ledger.crafts[entry.craft]
            if entry.shot is not None:
                self.craft_of[entry.number] = entry.craft
            if craft.kind is Kind.BUILD:
                target = build_target(entry)
                if target is not None:
                    self.builds[target].append(entry)
            elif not craft.footage and entry.character is not None and entry.shot is None:
                self.wide[entry.character, entry.sequence].append(entry)

    def performed_on(self, shot: str, take: int) -> list[Entry]:
        """Performance entries of crafts without footage on the shot that name no other take."""
        crafts = self._ledger.crafts
        return [
            entry
            for entry in self._ledger.entries_by_shot.get(shot, ())
            if not crafts[entry.craft].footage
            and crafts[entry.craft].kind is Kind.PERFORMANCE
            and entry.character is not None
            and entry.frames
            and entry.take in (None, take)
        ]
