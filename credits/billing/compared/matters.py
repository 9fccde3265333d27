"""What a change is about, and whether that is in other credits as it was before the change.

Nothing is compared by its place in a row: others may have come in between. A section is known by
its heading, before the change and after it; a line by whose it is, and by the section.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence

from credits.billing.compared.edits import (
    CreditEdit,
    EditKind,
    EditOf,
    edits_between,
    sections_kept,
)
from credits.billing.credits import Credits, Held, Line, Section
from credits.text import fold_words

OF_SECTIONS = (EditOf.SECTION, EditOf.LINE)
Names = frozenset[str]
"""The headings by which a section is known, without regard to case."""


class Standing:
    """Credits, looked up by headings and by whose lines they are."""

    def __init__(self, credits: Credits, one_person: Mapping[str, str]) -> None:
        self.credits = credits
        self._one = one_person
        self.sections: dict[str, list[Section]] = defaultdict(list)
        self.lines: dict[Hashable, list[tuple[str, Line]]] = defaultdict(list)
        for section in credits.sections:
            key = fold_words(section.heading)
            self.sections[key].append(section)
            for line in section.lines:
                self.lines[self.who(line)].append((key, line))
        self.held: dict[Hashable, Held] = {}
        for held in (*credits.held, *credits.held_lines):
            self.held.setdefault(self.holding(held), held)

    def who(self, one: Line | Held) -> Hashable:
        """Return whose it is; of nobody in the log by the name."""
        return self._one.get(one.person, one.person) or ("", fold_words(one.name))

    def holding(self, held: Held) -> Hashable:
        """Return who is held, and of a line where."""
        return self.who(held), fold_words(held.heading)

    def under(self, names: Names, who: Hashable) -> list[Line]:
        """Return somebody's lines in a section."""
        return [line for key, line in self.lines.get(who, ()) if key in names]

    def own_lines(self, names: Names) -> list[Line]:
        """Return the lines in a section that are of nobody in the log."""
        every = (line for section in self.called(names) for line in section.lines)
        return [line for line in every if not line.person]

    def called(self, names: Names) -> list[Section]:
        """Return the sections that are known by these headings."""
        return [section for name in sorted(names) for section in self.sections.get(name, ())]


class Matters:
    """What the changes between two compilations are about."""

    def __init__(self, before: Credits, after: Credits, one_person: Mapping[str, str]) -> None:
        self._one = one_person
        self._before, self._after = before, after
        self._was, self._is = self.standing(before), self.standing(after)
        edits = edits_between(before, after, one_person)
        kept = sections_kept(edits, before, after)
        # Who moved, and which sections did: where others stand is told by those that stayed.
        self._moved_sections: set[Hashable] = set()
        self._moved_lines: dict[str, set[Hashable]] = defaultdict(set)
        for edit in edits:
            if edit.kind is EditKind.MOVED and edit.of in OF_SECTIONS and edit.at is not None:
                section = before.sections[edit.at[0]]
                if edit.of is EditOf.SECTION:
                    self._moved_sections.add(fold_words(section.heading))
                else:
                    who = self._was.who(section.lines[edit.at[1]])
                    self._moved_lines[fold_words(section.heading)].add(who)
        back = {to: at for at, to in kept.items()}
        self._names_before = [
            self._names(section, after, kept.get(at)) for at, section in enumerate(before.sections)
        ]
        self._names_after = [
            self._names(section, before, back.get(to)) for to, section in enumerate(after.sections)
        ]
        # One name for a section that is renamed, for the order of sections.
        self._called = {
            fold_words(after.sections[to].heading): fold_words(before.sections[at].heading)
            for at, to in kept.items()
        }

    @staticmethod
    def _names(section: Section, other: Credits, at: int | None) -> Names:
        also = () if at is None else (fold_words(other.sections[at].heading),)
        return frozenset((fold_words(section.heading), *also))

    def standing(self, credits: Credits) -> Standing:
        """Make credits ready to be looked at."""
        return Standing(credits, self._one)

    def is_of_one_person(self, edit: CreditEdit) -> bool:
        """Tell whether an edit is about the lines of one person alone, and of no order."""
        if edit.of is EditOf.LINE and edit.at is not None and edit.to is not None:
            names = self._names_before[edit.at[0]], self._names_after[edit.to[0]]
            return edit.kind is not EditKind.MOVED or names[0] != names[1]
        return edit.of not in (EditOf.CREDITS, EditOf.SECTION) and edit.kind is not EditKind.MOVED

    def as_before(self, edit: CreditEdit, tried: Standing) -> bool:
        """Tell whether what an edit is about is as it was before it."""
        match edit.of:
            case EditOf.CREDITS:
                was = getattr(self._before, edit.field)
                return bool(getattr(tried.credits, edit.field) == was)
            case EditOf.SECTION:
                return self._section_as_before(edit, tried)
            case EditOf.LINE:
                return self._line_as_before(edit, tried)
        return self._held_as_before(edit, tried)

    # --- sections

    def _section_as_before(self, edit: CreditEdit, tried: Standing) -> bool:
        if edit.kind is EditKind.MOVED:
            assert edit.at is not None
            own = fold_words(self._before.sections[edit.at[0]].heading)
            was, now = (self._order_of(one) for one in (self._was, tried))
            return _ahead(own, was, now, self._moved_sections)
        if edit.kind is EditKind.SET:
            names = self._names_of(edit)
            return self._values_as_before(edit, self._was.called(names), tried.called(names))
        section = edit.new if edit.kind is EditKind.ADDED else edit.old
        names = frozenset((fold_words(section.heading),))
        was, now = (
            sum(other.text == section.text for other in one.called(names))
            for one in (self._was, tried)
        )
        return bool(now <= was if edit.kind is EditKind.ADDED else now >= was)

    def _order_of(self, standing: Standing) -> list[Hashable]:
        headings = (fold_words(section.heading) for section in standing.credits.sections)
        if standing is self._was:
            return list(dict.fromkeys(headings))
        known = self._was.sections
        return list(dict.fromkeys(h if h in known else self._called.get(h, h) for h in headings))

    def _names_of(self, edit: CreditEdit) -> Names:
        """By what the section of an edit, or of its line, is known."""
        if edit.to is not None:
            return self._names_after[edit.to[0]]
        assert edit.at is not None
        return self._names_before[edit.at[0]]

    @staticmethod
    def _values_as_before(edit: CreditEdit, was: Iterable[object], now: Iterable[object]) -> bool:
        """Whether a field has its old value as often as before, and its new one no oftener."""
        before, tried = (Counter(getattr(one, edit.field) for one in side) for side in (was, now))
        return tried[edit.old] >= before[edit.old] and tried[edit.new] <= before[edit.new]

    # --- lines

    def _line_as_before(self, edit: CreditEdit, tried: Standing) -> bool:
        at, to = edit.at, edit.to
        old = None if at is None else self._before.sections[at[0]].lines[at[1]]
        new = None if to is None else self._after.sections[to[0]].lines[to[1]]
        if edit.kind is EditKind.ADDED and new is not None:
            return self._is_away(new, self._names_of(edit), tried)
        assert at is not None
        assert old is not None
        if edit.kind is EditKind.SET:
            names, who = self._names_of(edit), self._was.who(old)
            if edit.field == "name" and not old.person:
                was, now = self._was.own_lines(names), tried.own_lines(names)
            else:
                was, now = self._was.under(names, who), tried.under(names, who)
            return self._values_as_before(edit, was, now)
        if edit.kind is EditKind.REMOVED or to is None or new is None:
            return self._is_back(old, self._names_before[at[0]], tried)
        if self._names_before[at[0]] == self._names_after[to[0]]:
            names, who = self._names_before[at[0]], self._was.who(old)
            key = fold_words(self._before.sections[at[0]].heading)
            movers = self._moved_lines[key]
            was_in, is_in = (self._people_in(one, names) for one in (self._was, tried))
            return _ahead(who, was_in, is_in, movers)
        return self._is_back(old, self._names_before[at[0]], tried) and self._is_away(
            new, self._names_after[to[0]], tried
        )

    def _is_back(self, line: Line, names: Names, tried: Standing) -> bool:
        """Whether somebody has as many lines in a section as before, with the role or another."""
        was, now = self._was.under(names, self._was.who(line)), tried.under(names, tried.who(line))
        return len(now) >= len(was) and _of_role(now, line) >= min(_of_role(was, line), 1)

    def _is_away(self, line: Line, names: Names, tried: Standing) -> bool:
        """Whether somebody has no more lines in a section than before."""
        who = tried.who(line)
        was, now, later = (one.under(names, who) for one in (self._was, tried, self._is))
        if len(was) < len(later):
            return len(now) <= len(was) or (
                len(now) < len(later) and _of_role(now, line) <= _of_role(was, line)
            )
        return _of_role(now, line) <= _of_role(was, line)

    @staticmethod
    def _people_in(standing: Standing, names: Names) -> list[Hashable]:
        lines = (line for section in standing.called(names) for line in section.lines)
        return list(dict.fromkeys(map(standing.who, lines)))

    # --- who is held

    def _held_as_before(self, edit: CreditEdit, tried: Standing) -> bool:
        side = "held" if edit.of is EditOf.HELD else "held_lines"
        credits, at = (self._after, edit.to) if edit.at is None else (self._before, edit.at)
        assert at is not None
        held: Held = getattr(credits, side)[at[0]]
        key = tried.holding(held)
        was, now = self._was.held.get(key), tried.held.get(key)
        if edit.kind is EditKind.SET:
            return now is not None and bool(getattr(now, edit.field) == edit.old)
        if edit.kind is EditKind.MOVED:
            rows = (getattr(one.credits, side) for one in (self._was, tried))
            before, after = ([tried.holding(each) for each in row] for row in rows)
            return _ahead(key, before, after, ())
        return (was is None) == (now is None)


def _of_role(lines: Iterable[Line], like: Line) -> int:
    return sum(line.role == like.role for line in lines)


def _ahead(
    one: Hashable, was: Sequence[Hashable], now: Sequence[Hashable], movers: Collection[Hashable]
) -> bool:
    """Whether the same others stand ahead of one in both orders, of those that are in both and did
    not move themselves."""
    if one not in was or one not in now:
        return False
    both = {other for other in set(was) & set(now) if other not in movers}
    before, after = (set(side[: side.index(one)]) & both for side in (was, now))
    return before == after
