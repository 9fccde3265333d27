"""Why credits changed since a proof: what came into the log since, and what it is the cause of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

from credits.app.end_credits.cause_words import (
    CUT,
    FIELD,
    LINE,
    PLAN,
    ROW,
    TITLE,
    WORDS,
    CauseWords,
    RowKey,
)
from credits.billing.compared.causes import Candidate, CauseSearch, Undone
from credits.billing.compared.changes import ChangeKind, CreditChange
from credits.billing.compared.compare import Comparison, Compiled
from credits.billing.compared.edits import CreditEdit, EditKind, EditOf
from credits.billing.compared.plan_changes import PlanDifference
from credits.billing.credits import Credits
from credits.billing.plan import BUILT_IN, CreditPlan
from credits.billing.proofs import credits_from_json
from credits.errors import ProblemsFound
from credits.figures.snapshot import Snapshot
from credits.figures.varied import Varied
from credits.formats.plan.read import read_plan_text
from credits.model.facts import Cut, EntryNumber, Proof, ProofMark
from credits.model.log import REFERENCE_TABLES, WrittenLog
from credits.model.replay import back_to_record, grouped
from credits.store.beside.kept import FiguresFile
from credits.store.seals.rewind import key_of, lines_since, lists_then

CODES = {
    "craft": "crafts", "person": "people", "same_as": "people", "character": "characters",
    "puppet": "puppets", "part": "parts", "sequence": "sequences", "shot": "shots",
    "stage": "stages",
}  # fmt: skip
"""Which field of a fact names a row of which list."""


@dataclass(frozen=True, slots=True)
class State:
    """What the log holds at a moment beside its lines, and the cut and the plan."""

    tables: WrittenLog
    plan: CreditPlan | None


class Since:
    """What came into a log between a proof and later credits.

    now: the later credits; where they are of a proof, what was written behind it is left out.
    """

    def __init__(self, file: FiguresFile, base: Snapshot, proof: Proof, now: Compiled) -> None:
        self._file, self._base = file, base
        self._mark, self._now = proof.mark, now
        self.before, self.after = credits_from_json(proof.content), now.credits
        self.one_person = base.ledger.one_person
        tables = file.tables()
        self._varied = Varied(base, tables, file.chain)
        self._lists = {name: getattr(tables, name) for name in REFERENCE_TABLES}
        self.later = self._state(tables, now.mark, now.cut, now.plan)
        self._then = lists_then(file, self._lists, proof.mark)
        every = lines_since(file, proof.mark)
        self.behind: frozenset[EntryNumber] = frozenset()
        if now.mark is not None:
            self.behind = frozenset(line.number for line in lines_since(file, now.mark))
        self.lines = {line.number: line for line in every if line.number not in self.behind}

    # --- both moments

    def _state(
        self, tables: WrittenLog, mark: ProofMark | None, cut: int | None, plan: str
    ) -> State:
        if mark is None:
            return State(tables, self._plan(plan))
        lists: Mapping[str, Any] = lists_then(self._file, self._lists, mark)
        words = tuple(word for word in tables.confirmations if word.written_at <= mark.saved_at)
        title = self.after.title or tables.production.title
        whole = replace(
            tables,
            **lists,
            production=replace(tables.production, title=title),
            confirmations=words,
            cut=self._cut(tables, cut),
        )
        return State(whole, self._plan(plan))

    def _cut(self, tables: WrittenLog, version: int | None) -> Cut | None:
        if version is None:
            return None
        known = tables.cut
        return known if known is not None and known.version == version else self._file.cut(version)

    def _plan(self, text: str) -> CreditPlan | None:
        """The plan of a text; None: the built-in one, or one that can no longer be read."""
        if text == BUILT_IN:
            return None
        try:
            return read_plan_text(text, self._base.ledger)
        except ProblemsFound:
            return None

    @cached_property
    def plans(self) -> PlanDifference | None:
        """How both plans differ by section and key; None: they cannot be told so."""
        then = self._plan(self._mark.plan)
        if then is None or self.later.plan is None or self._mark.plan == self._now.plan:
            return None
        return PlanDifference(then, self.later.plan)

    @cached_property
    def rows(self) -> Mapping[RowKey, tuple[Any, Any]]:
        """The rows that differ: as they were at the proof, and as they are later; None: no row."""
        found: dict[RowKey, tuple[Any, Any]] = {}
        for name in REFERENCE_TABLES:
            was, now = self._then[name], getattr(self.later.tables, name)
            if was is now:
                continue
            old, new = ({key_of(name, fact): fact for fact in side} for side in (was, now))
            for key in dict.fromkeys((*new, *old)):
                if old.get(key) != new.get(key):
                    found[name, key] = old.get(key), new.get(key)
        return found

    @cached_property
    def words_since(self) -> frozenset[str]:
        """Whose spelling was spoken of since: codes of people."""
        words = self.later.tables.confirmations
        return frozenset(w.person for w in words if w.written_at > self._mark.saved_at)

    # --- what may be a cause

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """Everything that came since, each with the groups that it is in."""
        return tuple([Candidate(key, path) for key, path in self._candidates()])

    def _candidates(self) -> Iterator[tuple[Hashable, tuple[str, ...]]]:
        for number, line in self.lines.items():
            people = sorted(self._people[number])
            craft = line.work.craft if line.work is not None else ""
            yield (LINE, number), ("lines", people[0] if people else "", craft)
        for (name, key), (old, new) in self.rows.items():
            group = str(key[0])
            if old is None or new is None:
                yield (ROW, name, key), (name, group)
                continue
            for field in fields(old):
                if getattr(old, field.name) != getattr(new, field.name) and not (
                    field.name == "name_confirmed_on" and new.code in self.words_since
                ):
                    yield (FIELD, name, key, field.name), (name, group)
        for person in sorted(self.words_since):
            yield (WORDS, person), ("people", person)
        if self._mark.cut != self._now.cut:
            yield (CUT,), (CUT,)
        if self.plans is not None:
            for change in self.plans.changes:
                yield (PLAN, change), (PLAN, str(change.at) if change.at is not None else "")
        elif self._can_change_plan:
            yield (PLAN,), (PLAN,)
        if self.before.title and self.before.title != self.after.title:
            yield (TITLE,), (TITLE,)

    @property
    def _can_change_plan(self) -> bool:
        """Whether one of both plans is the built-in one, and the other can be read."""
        texts = (self._mark.plan, self._now.plan)
        read = [text == BUILT_IN or self._plan(text) is not None for text in texts]
        return self._mark.plan != self._now.plan and all(read)

    @cached_property
    def _people(self) -> Mapping[EntryNumber, frozenset[str]]:
        """Whose work each line says, or said before it was corrected."""
        one = self.one_person
        found: dict[EntryNumber, frozenset[str]] = {}
        for number, line in self.lines.items():
            chain = {number: line}
            if line.corrects is not None:
                chain = {each.number: each for each in self._file.chain(number)}
            said = (each.work for each in back_to_record(line, chain) if each.work is not None)
            found[number] = frozenset(one.get(work.person, work.person) for work in said)
        return found

    # --- undone

    def closed(self, undone: Undone) -> Undone:
        """Return the set with everything that cannot be there without it.

        That are corrections of lines, lines and rows that name a new row, and of a row that comes
        back the rows that it names.
        """
        found = set(undone)
        while True:
            more = {key for key in self._needing(found) if key not in found}
            if not more:
                return frozenset(found)
            found |= more

    def _needing(self, undone: Collection[Hashable]) -> Iterator[Hashable]:
        gone: dict[str, set[str]] = defaultdict(set)
        back: list[Any] = []
        lines = {number for _, number in _of(undone, LINE)}
        for _, name, key in _of(undone, ROW):
            old, new = self.rows[name, key]
            if old is None and hasattr(new, "code"):
                gone[name].add(new.code)
            if new is None:
                back.append(old)
        for number in lines:
            yield from ((LINE, other) for other in self._corrections.get(number, ()))
        for number, line in self.lines.items() if gone else ():
            if line.work is not None and _names(line.work, gone):
                yield LINE, number
        for (name, key), (old, new) in self.rows.items():
            if new is not None and _names(new, gone):
                yield from self._own((name, key))
            elif new is None and hasattr(old, "code"):
                own = {name: {old.code}}
                if any(_names(one, own) for one in back):
                    yield ROW, name, key
        for person in self.words_since:
            if person in gone["people"]:
                yield WORDS, person

    @cached_property
    def _corrections(self) -> Mapping[EntryNumber, tuple[EntryNumber, ...]]:
        """The lines that correct each line."""
        found = grouped(self.lines.values(), lambda line: line.corrects)
        return {number: tuple(line.number for line in own) for number, own in found.items()}

    def _own(self, row: RowKey) -> Iterator[Hashable]:
        old, new = self.rows[row]
        if old is None or new is None:
            yield ROW, *row
            return
        for name in CODES:
            if hasattr(old, name) and getattr(old, name) != getattr(new, name):
                yield FIELD, *row, name

    def compiled(self, undone: Undone, people: frozenset[str] | None = None) -> Credits | None:
        """Compile the later credits without what is undone; None: they cannot be.

        people: whose lines are wanted alone.
        """
        tables, plan = self.undone(undone)
        lines = self.behind | {number for _, number in _of(undone, LINE)}
        try:
            return self._varied.credits(tables, lines, plan, people)
        except LookupError:  # a log without some of its rows may name what is not there
            return None

    def undone(self, undone: Undone) -> tuple[WrittenLog, CreditPlan | None]:
        """Return what the log would hold beside its lines, and the plan (None: the built-in)."""
        tables, plan = self.later.tables, self.later.plan
        changed: dict[str, dict[tuple[Any, ...], Any]] = defaultdict(dict)
        for _, name, key in _of(undone, ROW):
            changed[name][key] = self.rows[name, key][0]
        set_back: dict[RowKey, dict[str, Any]] = defaultdict(dict)
        for _, name, key, field in _of(undone, FIELD):
            set_back[name, key][field] = getattr(self.rows[name, key][0], field)
        people = frozenset(person for _, person in _of(undone, WORDS))
        for (name, key), (old, new) in self.rows.items():
            if name == "people" and new is not None and new.code in people and old is not None:
                set_back[name, key]["name_confirmed_on"] = old.name_confirmed_on
        for (name, key), values in set_back.items():
            changed[name][key] = replace(self.rows[name, key][1], **values)
        if changed:
            lists: dict[str, Any] = {name: self._with(name, own) for name, own in changed.items()}
            tables = replace(tables, **lists)
        if people:
            words = tuple(
                word
                for word in tables.confirmations
                if word.person not in people or word.written_at <= self._mark.saved_at
            )
            tables = replace(tables, confirmations=words)
        if (CUT,) in undone:
            tables = replace(tables, cut=self._cut(self.later.tables, self._mark.cut))
        if (TITLE,) in undone:
            tables = replace(tables, production=replace(tables.production, title=self.before.title))
        if (PLAN,) in undone:
            plan = self._plan(self._mark.plan)
        elif self.plans is not None:
            own = [key[1] for key in undone if isinstance(key, tuple) and key[0] == PLAN]
            plan = self.plans.without(own) if own else plan
        return tables, plan

    def _with(self, name: str, changed: Mapping[tuple[Any, ...], Any]) -> tuple[Any, ...]:
        """A list with rows that are others; one that comes back stands where it stood."""
        now = {key_of(name, fact): fact for fact in getattr(self.later.tables, name)}
        back = [key for key, fact in changed.items() if fact is not None and key not in now]
        rows = [changed.get(key, fact) for key, fact in now.items()]
        rows = [fact for fact in rows if fact is not None]
        if back:
            places = {key_of(name, fact): at for at, fact in enumerate(self._then[name])}
            for key in sorted(back, key=lambda key: places.get(key, len(places))):
                known = [places.get(key_of(name, fact), -1) for fact in rows]
                ahead = [at for at, place in enumerate(known) if 0 <= place < places.get(key, 0)]
                rows.insert(ahead[-1] + 1 if ahead else len(rows), changed[key])
        return tuple(rows)

    @property
    def words(self) -> CauseWords:
        """What puts causes into words."""
        words = self.later.tables.confirmations
        return CauseWords(
            ledger=self._base.ledger,
            lines=self.lines,
            rows=self.rows,
            words={word.person: word for word in words if word.person in self.words_since},
            cut=(self._mark.cut, self._now.cut),
        )

    # --- guesses

    def guesses(self, change: CreditChange) -> Iterator[list[Hashable]]:
        """Yield sets that are likely to be the cause of a change, the likeliest first."""
        yield [(LINE, number) for number in self._behind_lines(change)]
        one = self.one_person
        whole = one.get(change.person, change.person)
        own_codes = {change.person, whole, *(code for code, of in one.items() if of == whole)}
        rows = [
            each.key
            for each in self.candidates
            if each.path[0] in ("people", "engagements") and each.path[-1] in own_codes
        ]
        lines: list[Hashable] = [
            (LINE, number) for number, people in self._people.items() if own_codes & people
        ]
        if change.kind is ChangeKind.CONFIRMED:
            yield [(WORDS, code) for code in own_codes & self.words_since]
        if change.person:
            yield rows
            yield lines
            yield [*rows, *lines]
        for group in dict.fromkeys(each.path[0] for each in self.candidates):
            yield [each.key for each in self.candidates if each.path[0] == group]

    def _behind_lines(self, change: CreditChange) -> list[EntryNumber]:
        """The lines that came since and are a reason of a line, or correct a reason of one."""
        named: set[EntryNumber] = set()
        for edit in change.edits:
            named |= _reasons(edit, self.before, self.after)
        return [
            number
            for number, line in self.lines.items()
            if number in named or line.corrects in named
        ]


def _reasons(edit: CreditEdit, before: Credits, after: Credits) -> set[EntryNumber]:
    """The entries that are a reason of the line that is edited, on either side."""
    found: set[EntryNumber] = set()
    if edit.of is not EditOf.LINE:
        return found
    for side, at in ((before, edit.at), (after, edit.to)):
        if at is not None and edit.kind is not EditKind.SET:
            line = side.sections[at[0]].lines[at[1]]
            found.update(number for reason in line.because for number in reason.entries)
    return found


def _of(undone: Iterable[Hashable], kind: str) -> Iterator[tuple[Any, ...]]:
    return (key for key in undone if isinstance(key, tuple) and key[0] == kind)


def _names(fact: Any, codes: Mapping[str, Collection[str]]) -> bool:
    """Whether a fact names one of some codes."""
    return any(getattr(fact, field, None) in codes.get(table, ()) for field, table in CODES.items())


def with_causes(comparison: Comparison, since: Since) -> Comparison:
    """Name the causes of every change, as far as they are found by trying."""
    words, told = since.words, []
    for change, undone, is_sought in causes_of(comparison, since):
        entries = tuple(sorted(number for _, number in _of(undone, LINE)))
        why = words.why([key for key in undone if isinstance(key, tuple)], change.person)
        told.append(replace(change, why=why, entries=entries, sought=bool(undone) or is_sought))
    return replace(comparison, changes=tuple(told))


def causes_of(comparison: Comparison, since: Since) -> Iterator[tuple[CreditChange, Undone, bool]]:
    """Find the causes of every change, as what is to be undone; empty: none was found.

    The last value says whether causes were looked for to the end.
    """
    search = CauseSearch(
        since.before,
        since.after,
        since.candidates,
        since.compiled,
        since.closed,
        since.one_person,
    )
    for change in comparison.changes:
        found = search.causes_of(change, since.guesses(change))
        yield change, found, not search.is_spent
