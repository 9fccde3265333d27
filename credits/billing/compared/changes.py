"""The edits between two compilations told to people: each once, in words, old and new."""

from __future__ import annotations

import unicodedata
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from difflib import SequenceMatcher
from enum import StrEnum
from typing import Any

from credits.billing.compared.edits import (
    At,
    CreditEdit,
    EditKind,
    EditOf,
    compared_fields,
    moved_among,
    sections_kept,
)
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Picture
from credits.billing.reasons import in_words
from credits.model.facts import EntryNumber
from credits.model.words import listed, some_of
from credits.text import fold_words


class ChangeKind(StrEnum):
    """What happened, in the order in which changes are told."""

    TITLE = "title"
    CAME = "came"
    WENT = "went"
    MOVED = "moved"
    ROLE = "role"
    RESPELLED = "respelled"
    CONFIRMED = "confirmed"
    LINE = "line"
    CODE = "code"
    ORDER = "order"
    HELD = "held"
    SECTION = "section"
    APPEARANCE = "appearance"
    PLAN = "plan"


NO_CAUSE, NOT_SOUGHT = "no single cause found", "no cause was looked for"


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditChange:
    """One change. ``person`` empty: it is about nobody of the log. ``heading``: where it is now,
    or was. ``edits``: what is edited, as data.

    ``what``: one sentence. ``why``: the causes in words; none: no cause was found. ``entries``:
    lines of the log that are a cause. ``sought``: whether causes were looked for to the end.
    """

    kind: ChangeKind
    person: str = ""
    name: str = ""
    heading: str
    what: str
    edits: tuple[CreditEdit, ...] = field(default=(), repr=False)
    why: tuple[str, ...] = ()
    entries: tuple[EntryNumber, ...] = ()
    sought: bool = True

    @property
    def why_words(self) -> str:
        """The causes in a row, or that none was found."""
        return "; ".join(self.why) or (NO_CAUSE if self.sought else NOT_SOUGHT)

    @property
    def words(self) -> str:
        """The sentence and its causes: ``Ana moved from A to B. Why: new entry A-18.``"""
        return f"{self.what} Why: {self.why_words}."


def changes_told(
    edits: Iterable[CreditEdit],
    before: Credits,
    after: Credits,
    one_person: Mapping[str, str] | None = None,
    characters: Mapping[str, str] | None = None,
) -> tuple[CreditChange, ...]:
    """Tell the edits, by ``ChangeKind``, then as in the credits; each edit is of one change.

    before, after: with their reasons. one_person: as it was for the edits. characters: names by
    code, for the order of appearance.
    """
    return _Teller(tuple(edits), before, after, one_person or {}, characters or {}).changes()


# --- values in words

NAMED_SIGNS = {"\n": " (new line) ", "\u00a0": " (no-break space) ", "\t": " (tab) "}
LOOKS_THE_SAME = " (it looks the same: its signs differ)"
FIELD_WORDS = {
    "role_also": "role in the second language",
    "heading_also": "heading in the second language",
    "note": "note",
    "joined": "joined by",
    "named": "kind",
    "space": "space before it",
}
LINE_WORDS = {
    "role_also": "role of {} in the second language",
    "note": "note beside {}",
    "joined": "word that joins {} to the line before",
}
GONE = "the log has no work and the crew list no engagement of this person any more"


def told(text: str) -> str:
    """Return a text whole, as it can stand in a sentence: signs that nobody sees are named."""
    if text.isprintable():
        return text
    signs = (s if s.isprintable() else NAMED_SIGNS.get(s, f"(U+{ord(s):04X})") for s in text)
    return "".join(signs)


def _quoted(text: str | None) -> str:
    return f"'{told(text)}'" if text else "none"


def _heading(text: str) -> str:
    return f"'{told(text)}'" if text else "no heading"


def _value(value: Any) -> str:
    if isinstance(value, Picture):
        return f"{_quoted(value.file)} ({told(value.shows)}, {value.lines} lines high)"
    if isinstance(value, StrEnum | int):
        return str(value)
    if isinstance(value, tuple):
        return listed(map(_value, value)) or "none"
    return _quoted(value)


def _is_now(old: Any, new: Any) -> str:
    same = isinstance(old, str) and isinstance(new, str)
    same = same and unicodedata.normalize("NFC", old) == unicodedata.normalize("NFC", new)
    return f"{_value(new)} (before: {_value(old)}){LOOKS_THE_SAME if same else ''}"


def _field(name: str) -> str:
    return FIELD_WORDS.get(name, name.replace("_", " "))


def _more_of(one: Line | Section, *but: str) -> str:
    """What else is said of a new line or section: its fields that are not as usual."""
    usual = {f.name: f.default for f in fields(one) if f.default is not MISSING}
    said = (
        f"{_field(name)} {_value(value)}"
        for name in compared_fields(type(one))
        if name in usual and name not in but and (value := getattr(one, name)) != usual[name]
    )
    return listed(said)


# --- who, and where

_Told = tuple[ChangeKind, str, str, str, str]
"""Kind, person, name, heading, and the sentence."""


class _Teller:
    """Tells the edits of two compilations. What was told is not told again."""

    def __init__(
        self,
        edits: tuple[CreditEdit, ...],
        before: Credits,
        after: Credits,
        one: Mapping[str, str],
        characters: Mapping[str, str],
    ) -> None:
        self._before, self._after = before, after
        self._one, self._characters = one, characters
        self._kept = sections_kept(edits, before, after)
        self._by_of = {of: [e for e in edits if e.of is of] for of in EditOf}
        self._found: list[tuple[_Told, tuple[CreditEdit, ...]]] = []
        self._was = Counter(self._who(line.person) for _, line in before.lines if line.person)
        self._is = Counter(self._who(line.person) for _, line in after.lines if line.person)

    def changes(self) -> tuple[CreditChange, ...]:
        """Return every change."""
        self._tell_credits()
        self._tell_lines()
        self._tell_held()
        self._tell_sections()
        kinds = {kind: place for place, kind in enumerate(ChangeKind)}

        def order(found: tuple[_Told, tuple[CreditEdit, ...]]) -> tuple[object, ...]:
            (kind, *_), own = found
            return kinds[kind], own[0].to is None, own[0].to or own[0].at

        return tuple(
            CreditChange(kind=kind, person=person, name=name, heading=heading, what=what, edits=own)
            for (kind, person, name, heading, what), own in sorted(self._found, key=order)
        )

    def _tell(
        self, kind: ChangeKind, edits: Iterable[CreditEdit], what: str, heading: str = "",
        person: str = "", name: str = "",
    ) -> None:  # fmt: skip
        self._found.append(((kind, person, name, heading, what), tuple(edits)))

    def _who(self, person: str) -> str:
        return self._one.get(person, person)

    def _line(self, edit: CreditEdit) -> Line:
        """The line as it is now, or was where it is gone."""
        side, at = (self._before, edit.at) if edit.to is None else (self._after, edit.to)
        assert at is not None
        return side.sections[at[0]].lines[at[1]]

    def _under(self, edit: CreditEdit, *, before: bool = False) -> str:
        """The heading that a line stands under now, or stood under."""
        if (before or edit.to is None) and edit.at is not None:
            return self._before.sections[edit.at[0]].heading
        assert edit.to is not None
        return self._after.sections[edit.to[0]].heading

    def _held(self, edit: CreditEdit) -> Held:
        side, at = (self._before, edit.at) if edit.to is None else (self._after, edit.to)
        assert at is not None
        return (side.held if edit.of is EditOf.HELD else side.held_lines)[at[0]]

    def _name(self, line: Line) -> str:
        return told(line.name) if line.person else f"'{told(line.name)}'"

    def _headings(self, edits: Iterable[CreditEdit]) -> str:
        return some_of(dict.fromkeys(_heading(self._under(edit)) for edit in edits))

    # --- the credits as a whole

    def _tell_credits(self) -> None:
        for edit in self._by_of[EditOf.CREDITS]:
            if edit.field == "title":
                self._tell(ChangeKind.TITLE, [edit], f"The title is {_is_now(edit.old, edit.new)}.")
            elif edit.field == "order_of_appearance":
                said = "; ".join(self._appearance(edit.old, edit.new))
                what = f"In the order of appearance {said}."
                self._tell(ChangeKind.APPEARANCE, [edit], what)
            else:
                what = f"The {_field(edit.field)} is {_is_now(edit.old, edit.new)}."
                self._tell(ChangeKind.PLAN, [edit], what)

    def _appearance(self, old: Sequence[str], new: Sequence[str]) -> Iterator[str]:
        def named(code: str) -> str:
            return told(self._characters.get(code, code))

        come, gone = ([c for c in a if c not in b] for a, b in ((new, old), (old, new)))
        if come:
            yield f"{listed(map(named, come))} {'is' if len(come) == 1 else 'are'} new"
        if gone:
            yield f"{listed(map(named, gone))} {'is' if len(gone) == 1 else 'are'} gone"
        for code in moved_among(old, new):
            place = new.index(code)
            where = f"behind {named(new[place - 1])}" if place else "first"
            yield f"{named(code)} now stands {where}"

    # --- lines

    def _tell_lines(self) -> None:
        edits = self._by_of[EditOf.LINE]
        come: dict[str, list[CreditEdit]] = defaultdict(list)
        gone: dict[str, list[CreditEdit]] = defaultdict(list)
        for edit in edits:
            if edit.kind in (EditKind.ADDED, EditKind.REMOVED):
                line = self._line(edit)
                group = come if edit.kind is EditKind.ADDED else gone
                if line.person:
                    group[self._who(line.person)].append(edit)
                else:
                    self._own_line(edit, line)
            elif edit.kind is EditKind.MOVED:
                self._moved(edit)
        for person, own in come.items():
            self._came(person, own)
        for person, own in gone.items():
            self._went(person, own)
        self._fields_of_lines()

    def _own_line(self, edit: CreditEdit, line: Line) -> None:
        """A line of the plan's own, which is of nobody in the log."""
        heading = self._under(edit)
        if edit.kind is EditKind.ADDED:
            what = f"{self._name(line)} is new, printed under {self._spot(edit)}."
            self._tell(ChangeKind.CAME, [edit], what, heading, name=line.name)
        else:
            what = f"{self._name(line)} is no longer printed under {self._spot(edit)}."
            self._tell(ChangeKind.WENT, [edit], what, heading, name=line.name)

    def _spot(self, edit: CreditEdit) -> str:
        """``'Voice' as 'Wick'``, and what else a new line says."""
        line = self._line(edit)
        role = f" as {_quoted(line.role)}" if line.role else ""
        more = _more_of(line, "role") if edit.kind is EditKind.ADDED else ""
        return f"{_heading(self._under(edit))}{role}{f' ({more})' if more else ''}"

    def _holding(self, person: str, kind: EditKind, heading: str | None = None) -> list[CreditEdit]:
        """Edits of who is held that are of this person; of lines those under a heading alone."""
        return [
            edit
            for of in (EditOf.HELD, EditOf.HELD_LINE)
            for edit in self._by_of[of]
            if edit.kind is kind
            and self._who(self._held(edit).person) == person
            and (heading is None or fold_words(self._held(edit).heading) == fold_words(heading))
        ]

    def _take(self, held: Iterable[CreditEdit]) -> list[CreditEdit]:
        """Edits of who is held that are told with another change."""
        taken = list(held)
        for edit in taken:
            self._by_of[edit.of].remove(edit)
        return taken

    def _came(self, person: str, own: list[CreditEdit]) -> None:
        line = self._line(own[0])
        who = {"person": person, "name": line.name}
        if not self._was[person]:
            held = self._take(self._holding(person, EditKind.REMOVED))
            was = next((self._held(e) for e in held if e.of is EditOf.HELD), None)
            held += self._take(self._holding(person, EditKind.ADDED))
            spots = listed(dict.fromkeys(map(self._spot, own)))
            came = "is new," if was is None else f"was held ({was.reason}) and is now"
            what = f"{self._name(line)} {came} printed under {spots}."
            self._tell(ChangeKind.CAME, [*own, *held], what, self._under(own[0]), **who)
            return
        for edit in own:
            heading = self._under(edit)
            held = self._take(self._holding(person, EditKind.REMOVED, heading))
            what = f"{self._name(line)} is now also printed under {self._spot(edit)}."
            self._tell(ChangeKind.CAME, [edit, *held], what, heading, **who)

    def _went(self, person: str, own: list[CreditEdit]) -> None:
        who = {"person": person, "name": self._name_now(person) or self._line(own[0]).name}
        name = told(who["name"])
        if not self._is[person]:
            held = self._take(self._holding(person, EditKind.ADDED))
            now = next((self._held(e) for e in held if e.of is EditOf.HELD), None)
            held += self._take(self._holding(person, EditKind.REMOVED))
            reason = GONE if now is None else f"held: {now.reason}"
            spots = listed(dict.fromkeys(map(self._spot, own)))
            what = f"{name} is no longer printed (was under {spots}): {reason}.{_missing(now)}"
            self._tell(ChangeKind.WENT, [*own, *held], what, self._under(own[0]), **who)
            return
        for edit in own:
            heading = self._under(edit)
            held = self._take(self._holding(person, EditKind.ADDED, heading))
            now = next(map(self._held, held), None)
            called = self._line(edit).name
            as_was = f" (as {_quoted(called)})" if called != who["name"] else ""
            what = f"{name} is no longer printed under {self._spot(edit)}{as_was}, but elsewhere."
            self._tell(ChangeKind.WENT, [edit, *held], f"{what}{_missing(now)}", heading, **who)

    def _name_now(self, person: str) -> str:
        lines = (line for _, line in self._after.lines if line.person)
        held = (*self._after.held, *self._after.held_lines)
        every: tuple[Line | Held, ...] = (*lines, *held)
        found = (one.name for one in every if self._who(one.person) == person)
        return next(found, "")

    def _moved(self, edit: CreditEdit) -> None:
        assert edit.at is not None
        assert edit.to is not None
        line, heading = self._line(edit), self._under(edit)
        who = {"person": self._who(line.person), "name": line.name}
        if self._same_section(edit.at, edit.to):
            lines = self._after.sections[edit.to[0]].lines
            ahead = self._name(lines[edit.to[1] - 1]) if edit.to[1] else ""
            where = f"behind {ahead}" if ahead else "first"
            what = f"{self._name(line)} now stands {where} under {_heading(heading)}."
            self._tell(ChangeKind.ORDER, [edit], what, heading, **who)
            return
        was = _heading(self._under(edit, before=True))
        what = f"{self._name(line)} moved from {was} to {_heading(heading)}."
        self._tell(ChangeKind.MOVED, [edit], what, heading, **who)

    def _same_section(self, at: At, to: At) -> bool:
        """Whether a section stays the same section: it follows from the edits of sections."""
        return self._kept.get(at[0]) == to[0]

    def _fields_of_lines(self) -> None:
        """What is set of lines, and of names of who is held: of one person once for all lines."""
        groups: dict[Hashable, list[CreditEdit]] = defaultdict(list)
        held = [e for of in (EditOf.HELD, EditOf.HELD_LINE) for e in self._by_of[of]]
        named = self._take(e for e in held if e.field in ("name", "person"))
        for edit in (*self._by_of[EditOf.LINE], *named):
            if edit.kind is EditKind.SET:
                person = self._fact(edit).person
                who: Hashable = self._who(person) if person else edit.at
                groups[who, edit.field, edit.old, edit.new].append(edit)
        for own in groups.values():
            self._field_of_lines(own)

    def _fact(self, edit: CreditEdit) -> Line | Held:
        return self._line(edit) if edit.of is EditOf.LINE else self._held(edit)

    def _field_of_lines(self, own: list[CreditEdit]) -> None:
        edit, fact = own[0], self._fact(own[0])
        printed = [each for each in own if each.of is EditOf.LINE]
        under = f"Under {self._headings(printed)}: " if printed else "Not printed: "
        name = told(fact.name) if fact.person else f"'{told(fact.name)}'"
        now = _is_now(edit.old, edit.new)
        match edit.field:
            case "name":
                kind = ChangeKind.RESPELLED
                same = LOOKS_THE_SAME if now.endswith(LOOKS_THE_SAME) else ""
                what = f"{under}{_quoted(edit.old)} is now {_quoted(edit.new)}{same}."
            case "role":
                kind = ChangeKind.ROLE
                what = f"{name} has another role under {self._headings(printed)}: {now}."
            case "confirmed":
                kind = ChangeKind.CONFIRMED
                is_now = "is now confirmed" if edit.new else "is not confirmed any more"
                what = f"{under}the spelling {_quoted(fact.name)} {is_now}."
            case "person":
                kind = ChangeKind.CODE
                what = f"{under}{name} is now listed by the code {now}."
            case other:
                kind = ChangeKind.LINE
                words = LINE_WORDS.get(other, f"{_field(other)} of {{}}").replace("{}", name)
                what = f"{under}the {words} is {now}."
        heading = self._under(printed[0]) if printed else ""
        person = self._who(fact.person)
        self._tell(kind, own, what, heading, person=person, name=fact.name)

    # --- who is held

    def _tell_held(self) -> None:
        for of in (EditOf.HELD, EditOf.HELD_LINE):
            for edit in self._by_of[of]:
                held = self._held(edit)
                what = f"{told(held.name)} {self._of_held(edit, held)}"
                who = {"person": self._who(held.person), "name": held.name}
                self._tell(ChangeKind.HELD, [edit], what, held.heading, **who)

    def _of_held(self, edit: CreditEdit, held: Held) -> str:
        line = edit.of is EditOf.HELD_LINE
        under = f" under {_heading(held.heading)}" if line else ""
        printed = self._is[self._who(held.person)]
        if edit.kind is EditKind.ADDED:
            if line:
                return f"is not printed{under}: {held.reason}.{_missing(held)}"
            return f"is new, and held: {held.reason}."
        if edit.kind is EditKind.REMOVED:
            if line:
                return f"is no longer held{under}."
            return "is no longer held." if printed else f"was held and is gone: {GONE}."
        if edit.kind is EditKind.MOVED:
            assert edit.to is not None
            side = self._after.held_lines if line else self._after.held
            ahead = f"behind {told(side[edit.to[0] - 1].name)}" if edit.to[0] else "first"
            return f"now stands {ahead} among {'the lines' if line else 'those'} not printed."
        if edit.field == "kind":
            assert edit.at is not None
            was = (self._before.held_lines if line else self._before.held)[edit.at[0]]
            return f"is held for another reason: {held.reason} (before: {was.reason})."
        return f"is held{under}: the {_field(edit.field)} is {_is_now(edit.old, edit.new)}."

    # --- sections

    def _section(self, at: int, *, now: bool) -> str:
        """``the section 'Thanks'``; which of them, where several are called so."""
        sections = (self._after if now else self._before).sections
        key = fold_words(sections[at].heading)
        same = [n for n, one in enumerate(sections) if fold_words(one.heading) == key]
        which = f" ({same.index(at) + 1} of {len(same)})" if len(same) > 1 else ""
        heading = sections[at].heading
        return f"section {_quoted(heading) if heading else 'without a heading'}{which}"

    def _tell_sections(self) -> None:
        together: dict[At, list[CreditEdit]] = defaultdict(list)
        for edit in self._by_of[EditOf.SECTION]:
            now = edit.to is not None
            at = edit.to if edit.to is not None else edit.at
            assert at is not None
            name = self._section(at[0], now=now)
            heading = (self._after if now else self._before).sections[at[0]].heading
            if edit.kind is EditKind.SET and edit.field not in ("heading", "text"):
                together[at].append(edit)
                continue
            if edit.kind is EditKind.ADDED:
                more = _more_of(edit.new, "layout", "columns")
                what = f"The {name} is new{f': {more}' if more else ''}."
            elif edit.kind is EditKind.REMOVED:
                text = f": {_quoted(edit.old.text)}" if edit.old.text else ""
                what = f"The {name} is gone{text}."
            elif edit.kind is EditKind.MOVED:
                ahead = f"behind the {self._section(at[0] - 1, now=True)}" if at[0] else "first"
                what = f"The {name} now stands {ahead}."
            elif edit.field == "heading":
                same = LOOKS_THE_SAME * _is_now(edit.old, edit.new).endswith(LOOKS_THE_SAME)
                what = f"The heading {_quoted(edit.old)} is now {_quoted(edit.new)}{same}."
            else:
                what = f"In the text of the {name} {_text_words(edit.old, edit.new)}."
            self._tell(ChangeKind.SECTION, [edit], what, heading)
        for at, own in together.items():
            said = listed(f"{_field(e.field)} {_is_now(e.old, e.new)}" for e in own)
            what = f"The {self._section(at[0], now=True)} is now set with {said}."
            self._tell(ChangeKind.SECTION, own, what, self._after.sections[at[0]].heading)


def _missing(held: Held | None) -> str:
    """What somebody who is held was short of, behind a sentence."""
    return f" {in_words(held.because).threshold}".rstrip() if held is not None else ""


def _text_words(old: str, new: str) -> str:
    """Which lines of a text are others: ``'To the mice.' is now 'To the cats.'``."""
    before, after = old.split("\n"), new.split("\n")
    said = []
    for tag, a, b, c, d in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        was, now = _quoted("\n".join(before[a:b])), _quoted("\n".join(after[c:d]))
        was, now = (words if words != "none" else "an empty line" for words in (was, now))
        if tag == "replace":
            said.append(f"{was} is now {now}")
        elif tag == "delete":
            said.append(f"{was} is gone")
        elif tag == "insert":
            said.append(f"{now} is new")
    return "; ".join(said)
