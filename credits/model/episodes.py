"""One episode of a production: its shots, and the work that is behind them."""

from __future__ import annotations

from dataclasses import replace

from credits.model.ledger import Entry, Ledger
from credits.model.log import WrittenLog
from credits.model.replay import Implied, current_lines, ledger_of_entries
from credits.text import fold_words


def episodes_of(ledger: Ledger) -> tuple[str, ...]:
    """Return the episodes that shots belong to, as first written, in the order of the shots."""
    found: dict[str, str] = {}
    for shot in ledger.shots.values():
        if shot.episode is not None:
            found.setdefault(fold_words(shot.episode), shot.episode)
    return tuple(found.values())


def replay_episode(log: WrittenLog, episode: str) -> Ledger:
    """Return the ledger of one episode: its shots, the cut of these, and the work behind them.

    Work on a shot counts in the episode of the shot, work on a sequence where a shot of it belongs
    to the episode. Work on a puppet, a part or a character counts where it is in a shot of the
    episode; work that names nothing counts in every episode, as do engagements. episode: compared
    without regard to case.
    """
    wanted = fold_words(episode)
    own = tuple(s for s in log.shots if s.episode is not None and fold_words(s.episode) == wanted)
    shots = {shot.code for shot in own}
    implied = Implied(log)
    current, forks = current_lines(log.lines)
    every = [implied.entry(line, record.number, record.ref) for record, line in current]
    behind = _Behind(log, shots, every)
    entries = tuple(entry for entry in every if behind.takes(entry))
    cut = log.cut
    if cut is not None:
        cut = replace(cut, clips=tuple(clip for clip in cut.clips if clip.shot in shots))
    part = replace(
        log,
        shots=own,
        takes=tuple(take for take in log.takes if take.shot in shots),
        replacements=tuple(one for one in log.replacements if one.shot in shots),
        cut=cut,
    )
    ledger = ledger_of_entries(part, implied, entries, forks)
    return replace(ledger, shots={shot.code: shot for shot in own})


class _Behind:
    """What is in the shots of an episode: its sequences, characters, puppets and parts."""

    def __init__(self, log: WrittenLog, shots: set[str], entries: list[Entry]) -> None:
        self._shots = shots
        self._sequences = {shot.sequence for shot in log.shots if shot.code in shots}
        here = [entry for entry in entries if self._is_here(entry)]
        self._characters = {entry.character for entry in here}
        self._characters |= {one.character for one in log.replacements if one.shot in shots}
        self._puppets = {entry.puppet for entry in here if entry.puppet is not None}
        named = {entry.character for entry in here if entry.puppet is not None}
        animated = {craft.code for craft in log.crafts if craft.footage}
        # Where a shot does not say which copy of a character it shows, it may be any.
        seen = self._characters - named
        seen |= {e.character for e in here if e.puppet is None and e.craft in animated}
        self._puppets |= {puppet.code for puppet in log.puppets if puppet.character in seen}
        self._parts = {one.part for one in log.replacements if one.shot in shots}
        self._parts |= {entry.part for entry in here if entry.part is not None}
        self._parts |= {fitting.part for fitting in log.fittings if fitting.puppet in self._puppets}

    def _is_here(self, entry: Entry) -> bool:
        if entry.shot is not None:
            return entry.shot in self._shots
        return entry.sequence is not None and entry.sequence in self._sequences

    def takes(self, entry: Entry) -> bool:
        """Whether an entry counts in the episode."""
        if entry.shot is not None or entry.sequence is not None:
            return self._is_here(entry)
        if entry.part is not None:
            return entry.part in self._parts
        if entry.puppet is not None:
            return entry.puppet in self._puppets
        return entry.character is None or entry.character in self._characters
