"""What checks find: kept by what each case rests on, and found again where that is another."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date
from enum import StrEnum
from functools import cache, lru_cache
from itertools import chain
from operator import attrgetter
from types import UnionType
from typing import Any, NamedTuple, get_args, get_origin, get_type_hints

from credits.checks.alone import alone, rests_on
from credits.checks.checks import CHECKS
from credits.checks.frames import VOICE
from credits.checks.rule import Check, Known
from credits.figures.kept_claims import kept_runs
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import EVERY
from credits.figures.renewing import KnownClaims
from credits.footage.cut import use_of_cut
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.replay import grouped
from credits.store.beside.kept import FiguresFile
from credits.store.beside.rows import Rows
from credits.text import fold_code
from credits.units.frames import Frames

MOST_ALONE = 100
"""Of more things than these the cases are found at once."""
KEPT = tuple(check for check in CHECKS if check.scope not in ("character", "log"))
"""The checks of which what is found is kept; the others look at the film as a whole."""
CHECK_OF = {check.kind: check for check in CHECKS}


def _plain(value: Any) -> Any:
    if isinstance(value, EntryNumber | StrEnum):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Frames):  # by its ranges: a cut may ask for frames before the first
        return value.ranges
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value


def case_text(case: Check) -> str:
    """Return a case as JSON."""
    return json.dumps(_plain(case), ensure_ascii=False, separators=(",", ":"))


@lru_cache(maxsize=65536)
def read_case(kind: str, text: str) -> Check:
    """Make the case of a kind again from its JSON."""
    case: Check = _reader(CHECK_OF[kind])(json.loads(text))
    return case


Reader = Callable[[Any], Any]
_PLAIN: dict[Any, Reader] = {
    EntryNumber: EntryNumber.parse,
    date: date.fromisoformat,
    Frames: lambda ranges: Frames(tuple(map(tuple, ranges))),
}


@cache
def _reader(kind: Any) -> Reader:
    """Return what makes a value of a type from JSON."""
    if kind in _PLAIN:
        return _PLAIN[kind]
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind
    if isinstance(kind, type) and is_dataclass(kind):
        make: Callable[..., Any] = kind
        readers = {name: _reader(hint) for name, hint in _hints(kind).items()}
        return lambda said: make(**{name: readers[name](each) for name, each in said.items()})
    if isinstance(kind, UnionType):
        return _reader_of_one(get_args(kind))
    if get_origin(kind) is tuple:
        first, *others = map(_reader, (each for each in get_args(kind) if each is not ...))
        if get_args(kind)[-1] is ...:
            return lambda said: tuple(map(first, said))
        each_of = (first, *others)
        return lambda said: tuple(read(each) for read, each in zip(each_of, said, strict=True))
    return lambda said: said


def _reader_of_one(kinds: tuple[Any, ...]) -> Reader:
    """Return what makes a value of one of several types: facts are told apart by their fields."""
    by_fields: dict[frozenset[str], Reader] = {}
    others: list[Reader] = []
    for kind in kinds:
        if is_dataclass(kind):
            by_fields[frozenset(_hints(kind))] = _reader(kind)  # type: ignore[arg-type]
        elif kind is not type(None):
            others.append(_reader(kind))

    def read(said: Any) -> Any:
        if said is None:
            return None
        return by_fields[frozenset(said)](said) if isinstance(said, dict) else others[0](said)

    return read


@cache
def _hints(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}


class CasesOf:
    """The cases that rest on some things, as rows.

    codes: what they rest on, each behind its scope; EVERY: all there are.
    known: what was read and computed of the whole film already.
    """

    def __init__(
        self, file: FiguresFile, codes: Sequence[str], known: KnownClaims | None = None
    ) -> None:
        self._file = file
        self._codes = codes
        self._claims = known

    def rows(self) -> Rows:
        """Find the cases, and what goes for them."""
        is_every = EVERY in self._codes or len(self._codes) > MOST_ALONE
        found: dict[tuple[str, str], list[Check]] = defaultdict(list)
        if is_every:
            known = self._known_of_all()
            for case in chain.from_iterable(check.find(known) for check in KEPT):
                found[case.scope, rests_on(case)].append(case)
            gone: list[dict[str, str]] = [{}]
        else:
            known = self._known(kept_ledger(self._file))
            gone = []
            for scope, _, code in (each.partition(" ") for each in self._codes):
                own = alone(known, scope, code)
                gone.append({"scope": scope, "code": code})
                found[scope, code] = [c for k in KEPT if k.scope == scope for c in k.find(own)]
        rows = [
            (*on, at, case.kind, case_text(case))
            for on, cases in found.items()
            for at, case in enumerate(cases)
        ]
        return {"cases": (gone, rows)}

    def _known_of_all(self) -> Known:
        if self._claims is None:
            return self._known(kept_ledger(self._file, checked=True))
        ledger, runs = self._claims
        return Known(ledger=ledger, runs=runs, use=use_of_cut(ledger, runs))

    def _known(self, ledger: Ledger) -> Known:
        runs = kept_runs(self._file, ledger)
        return Known(ledger=ledger, runs=runs, use=use_of_cut(ledger, runs))


class _CraftOn(NamedTuple):
    """That some work of a craft was done on a character."""

    character: str
    craft: str


Takes = Callable[[str, str], bool]
"""Tells by its kind and its JSON whether a case that is kept may be wanted."""


NewFilmCases = tuple[str, list[tuple[str, str]]]
"""What stands for all that cases of the film as a whole were found in, and these as rows."""


def kept_cases(
    file: FiguresFile, known: Callable[[], Known], made_of: str
) -> tuple[tuple[Check, ...], NewFilmCases | None]:
    """Read everything that the checks find, with what they find in the film as a whole.

    known: what that is found in, where it is not kept. made_of: stands for that.
    Also return what was found so, to be kept; None: it is kept.
    """
    of_film = [check for check in CHECKS if check not in KEPT]
    new: NewFilmCases | None = None
    kept = file.film_cases(made_of)
    if kept is None:
        whole, voiced = known(), [_CraftOn(code, VOICE) for code in file.characters_of(VOICE)]
        crafts: Any = grouped(voiced, attrgetter("character"))
        whole = replace(whole, ledger=replace(whole.ledger, entries_by_character=crafts))
        found = {check.kind: list(check.find(whole)) for check in of_film}
        every = chain.from_iterable(found.values())
        new = made_of, [(case.kind, case_text(case)) for case in every]
    else:
        found = {check.kind: [] for check in of_film}
        for kind, text in kept:
            found[kind].append(read_case(kind, text))
    return _cases(file, found, CHECKS), new


def cases_near(
    file: FiguresFile, known: Known, day: date, numbers: Iterable[EntryNumber]
) -> tuple[Check, ...]:
    """Read every case that names a day or rests on one of some entries; there may be others."""
    wanted = {day.isoformat(), *map(str, numbers)}
    own = [check for check in CHECKS if check.of_days]
    return _cases(
        file, _found(own, known), own, lambda _, text: not wanted.isdisjoint(_strings(text))
    )


def cases_like(file: FiguresFile, known: Known, some: Sequence[Check]) -> tuple[Check, ...]:
    """Read every case that may be called as one of some is; there may be others."""
    firsts: dict[str, set[str]] = defaultdict(set)
    for case in some:
        firsts[case.kind].add(fold_code(case.subjects[0][1]))
    own = [check for check in CHECKS if check.kind in firsts]

    def takes(kind: str, text: str) -> bool:
        return kind in firsts and not firsts[kind].isdisjoint(_strings(fold_code(text)))

    return _cases(file, _found(own, known), own, takes)


def _strings(text: str) -> list[str]:
    """Return what stands between the quotation marks of a JSON, and between these."""
    return text.split('"')


def _found(checks: Sequence[type[Check]], known: Known) -> dict[str, list[Check]]:
    """Find the cases of those of some checks that are not kept."""
    return {check.kind: list(check.find(known)) for check in checks if check not in KEPT}


def _cases(
    file: FiguresFile,
    others: Mapping[str, list[Check]],
    checks: Sequence[type[Check]],
    takes: Takes | None = None,
) -> tuple[Check, ...]:
    """Read those cases of some checks that are taken.

    others: the cases of checks that are not kept, by kind. takes: None: every case.
    """
    found: dict[str, list[Check]] = defaultdict(list, others)
    for kind, text in file.cases():
        if takes is None or takes(kind, text):
            found[kind].append(read_case(kind, text))
    return tuple(
        case for check in checks for case in sorted(found[check.kind], key=attrgetter("place"))
    )
