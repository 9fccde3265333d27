"""Why the credits read so: of a person, a heading, a character, of all that do not print."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from credits.app.production import kept_snapshot, snapshot_of
from credits.app.work.named import Coded, of_code, of_name, with_name
from credits.billing.asked import (
    NotPrinted,
    OfCharacter,
    UnderHeading,
    by_character,
    headings_of,
    not_printed,
    under_heading,
)
from credits.billing.credits import Credits, Line, Section
from credits.billing.proofs import credits_from_json
from credits.errors import Finding, WrongCall
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model.facts import Character, Person
from credits.model.ledger import Ledger
from credits.model.words import typed
from credits.names import fold
from credits.store.beside.kept import FiguresFile
from credits.text import fold_words, nearest

PERSON, HEADING, CHARACTER, LINE = "person", "heading", "character", "line"
KINDS = (PERSON, HEADING, CHARACTER, LINE)


class CalledBy(NamedTuple):
    """By which name a person was found, where it is not the code or the credited name.

    what: ``former name``, ``legal name``, ``name in proof 2``, ``name in the credits``.
    """

    what: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyPerson:
    """Everything that was decided of one person."""

    person: Person
    credits: Credits
    confirmed: bool
    called: CalledBy | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyHeading:
    """What stands under a heading, and what does not."""

    found: UnderHeading
    ledger: Ledger
    plan: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyCharacter:
    """Who prints for work on a character, and who worked on it and does not print."""

    character: Character
    found: OfCharacter
    plan: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyOwnLine:
    """Where the plan itself prints a name that is nobody's of the log: a company, a song, ..."""

    name: str
    lines: tuple[tuple[Section, Line], ...]
    plan: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyNotPrinted:
    """Everybody and everything that does not print."""

    found: NotPrinted
    ledger: Ledger
    plan: str


class Why(NamedTuple):
    """An answer. also: what else is called so, as it is typed to ask about that."""

    answer: WhyPerson | WhyHeading | WhyCharacter | WhyOwnLine
    also: tuple[str, ...] = ()


class _Meant(NamedTuple):
    """Something that a text may mean: its kind, its code or heading, and by which name."""

    kind: str
    code: str
    called: CalledBy | None = None


def _opened(folder: Path, episode: str | None) -> tuple[FiguresFile, Snapshot]:
    """Open the figures of a production, or of one episode of it."""
    file = open_figures(folder, Depth.FOOTAGE)
    if episode is not None:
        return file, snapshot_of(file.read(), folder, episode)
    return file, kept_snapshot(file, Depth.FOOTAGE)


def why_not_printed(folder: Path, episode: str | None = None) -> WhyNotPrinted:
    """Tell why everybody does not print who does not.

    episode: in the credits of this one; WrongCall where no shot belongs to it.
    """
    _, snapshot = _opened(folder, episode)
    found = not_printed(snapshot.credits, snapshot.ledger)
    return WhyNotPrinted(found=found, ledger=snapshot.ledger, plan=snapshot.credits.plan)


def why(folder: Path, text: str, episode: str | None = None) -> Why:
    """Tell why the credits read as they do of what a text means.

    text: the code of a person; or else the name of one, a heading, the code or the name of a
    character, a name that the plan itself prints; or else a former or a legal name. ``person=``,
    ``heading=``, ``character=`` and ``line=`` say which is meant. episode: in the credits of this
    one. Raises WrongCall for nothing, with what is like it, for several, and for an episode that
    no shot belongs to.
    """
    file, snapshot = _opened(folder, episode)
    meant, also = _meant(text, snapshot, file)
    ledger, credits = snapshot.ledger, snapshot.credits
    if meant.kind == HEADING:
        found = under_heading(credits, meant.code)
        return Why(WhyHeading(found=found, ledger=ledger, plan=credits.plan), also)
    if meant.kind == CHARACTER:
        nothing = OfCharacter(character=meant.code, lines=(), held=())
        own = by_character(credits, ledger, [meant.code]).get(meant.code, nothing)
        character = ledger.characters[meant.code]
        return Why(WhyCharacter(character=character, found=own, plan=credits.plan), also)
    if meant.kind == LINE:
        own_lines = tuple(each for each in _own_lines(credits) if each[1].name == meant.code)
        return Why(WhyOwnLine(name=meant.code, lines=own_lines, plan=credits.plan), also)
    person = ledger.people[meant.code]
    answer = WhyPerson(
        person=person,
        credits=credits.of(person.code),
        confirmed=ledger.confirmed(person.code),
        called=meant.called,
    )
    return Why(answer, also)


def _meant(text: str, snapshot: Snapshot, file: FiguresFile) -> tuple[_Meant, tuple[str, ...]]:
    """Find the one thing that a text means, and what else is called so."""
    ledger = snapshot.ledger
    kind, equals, rest = text.partition("=")
    kinds = (kind.strip(),) if equals and kind.strip() in KINDS else KINDS
    wanted = rest if kinds != KINDS else text
    headings = headings_of(snapshot.credits, snapshot.plan, ledger)
    found = list(dict.fromkeys(_called_now(wanted, kinds, snapshot, headings)))
    exact = of_code(wanted, ledger.people.values()) if PERSON in kinds else None
    if exact is not None:
        code = ledger.person(exact.code).code
        others = (one for one in found if one.kind != PERSON)
        return _Meant(PERSON, code), tuple(map(_typed, others))
    if [one.kind for one in found] == [HEADING, CHARACTER]:
        # The block of a character is called after it: of the character there is more to say.
        return found[1], (_typed(found[0]),)
    if not found and PERSON in kinds:
        found = _called_otherwise(wanted, snapshot, file)
    if len(found) == 1:
        return found[0], ()
    if found:
        which = " or ".join(_typed(one) + _named(one, ledger) for one in found[:6])
        what = f"is the name of {len(found)}: {_kinds_of(found)}"
        raise WrongCall(Finding(what, f"Write {which}.", value=text))
    raise WrongCall(_nothing(text, kinds, snapshot, headings))


def _own_lines(credits: Credits) -> Iterator[tuple[Section, Line]]:
    """Yield the lines that are nobody's of the log."""
    return ((section, line) for section, line in credits.lines if not line.person and line.name)


def _called_now(
    text: str, kinds: Iterable[str], snapshot: Snapshot, headings: Mapping[str, str]
) -> Iterator[_Meant]:
    """Find what has this name now, a heading before a character."""
    ledger = snapshot.ledger
    if PERSON in kinds:
        for person in of_name(text, ledger.people.values()):
            yield _Meant(PERSON, ledger.person(person.code).code)
    if HEADING in kinds:
        heading = headings.get(fold_words(text))
        folded = (spelled for spelled in headings.values() if fold(spelled) == fold(text))
        heading = heading or next(folded, None)
        if heading is not None and fold_words(text):
            yield _Meant(HEADING, heading)
    if CHARACTER in kinds:
        characters = ledger.characters.values()
        exact = of_code(text, characters)
        for one in [exact] if exact is not None else of_name(text, characters):
            yield _Meant(CHARACTER, one.code)
    if LINE in kinds and fold(text):
        for _, line in _own_lines(snapshot.credits):
            if fold(line.name) == fold(text):
                yield _Meant(LINE, line.name)


def _called_otherwise(text: str, snapshot: Snapshot, file: FiguresFile) -> list[_Meant]:
    """Find people who were called so, are by law or in the plan; else those of the proofs."""
    ledger, wanted = snapshot.ledger, fold(text)
    at_hand = chain(_printed_names(snapshot.credits), _former_names(snapshot), _legal_names(ledger))
    found: dict[str, CalledBy] = {}
    for names in (at_hand, _names_in_proofs(file)):
        for code, called in names:
            if code in ledger.people and wanted and fold(called.name) == wanted:
                found.setdefault(ledger.person(code).code, called)
        if found:
            break
    return [_Meant(PERSON, code, called) for code, called in found.items()]


def _printed_names(credits: Credits) -> Iterator[tuple[str, CalledBy]]:
    for _, line in credits.lines:
        if line.person:
            yield line.person, CalledBy("name in the credits", line.name)


def _former_names(snapshot: Snapshot) -> Iterator[tuple[str, CalledBy]]:
    for person in snapshot.ledger.people.values():
        if person.sort_name:
            yield person.code, CalledBy("sort name", person.sort_name)
    for code, names in snapshot.former_names.items():
        yield from ((code, CalledBy("former name", name)) for name in names)


def _legal_names(ledger: Ledger) -> Iterator[tuple[str, CalledBy]]:
    for person in ledger.people.values():
        if person.legal_name:
            yield person.code, CalledBy("legal name", person.legal_name)


def _names_in_proofs(file: FiguresFile) -> Iterator[tuple[str, CalledBy]]:
    """Yield the names of the proofs, the last proof first."""
    for mark in reversed(file.proofs()):
        frozen = credits_from_json(file.proof(mark.number).content)
        for _, line in frozen.lines:
            if line.person:
                yield line.person, CalledBy(f"name in proof {mark.number}", line.name)


def _typed(one: _Meant) -> str:
    return typed(f"{one.kind}={one.code}")


def _named(one: _Meant, ledger: Ledger) -> str:
    if one.kind in (HEADING, LINE):
        return ""
    facts: Coded = ledger.people[one.code] if one.kind == PERSON else ledger.characters[one.code]
    return f" ({with_name(facts).removeprefix(f'{one.code} (')}"


def _kinds_of(found: Iterable[_Meant]) -> str:
    counts: dict[str, int] = defaultdict(int)
    for one in found:
        counts[one.kind] += 1
    words = {PERSON: "people", HEADING: "headings", CHARACTER: "characters", LINE: "lines"}
    return " and ".join(
        f"a {kind}" if number == 1 else f"{number} {words[kind]}" for kind, number in counts.items()
    )


def _nothing(
    text: str, kinds: Iterable[str], snapshot: Snapshot, headings: Mapping[str, str]
) -> Finding:
    """Say that nothing is called so, and what is like it."""
    ledger = snapshot.ledger
    known: dict[str, tuple[str, ...]] = {}
    if PERSON in kinds:
        known |= {with_name(one): (one.code, one.credit_name) for one in ledger.people.values()}
    if HEADING in kinds:
        known |= {f"'{heading}'": (heading,) for heading in headings.values()}
    if CHARACTER in kinds:
        known |= {with_name(one): (one.code, one.name) for one in ledger.characters.values()}
    if LINE in kinds:
        own = dict.fromkeys(line.name for _, line in _own_lines(snapshot.credits))
        known |= {f"'{name}'": (name,) for name in own}
    like = nearest(text, known, known.__getitem__)
    first, *others = kinds
    what = f"no {first} has this code or name{''.join(f', no {kind}' for kind in others)}"
    hint = f"Did you mean {' or '.join(like)}?" if like else "See credits find."
    return Finding(what, hint, value=text)
