"""A line of work as people type it: its words told apart, in whatever order they stand.

``animation ana wick 010-020/2 1-30 8h x2 -- the scarf slipped`` becomes cells of the entries table.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from credits.app.work.named import Coded, fact_named, like_ones, name_of_several, of_name
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.formats.tables.columns import Codes
from credits.model.facts import Work
from credits.model.log import WrittenLog
from credits.model.replay import Implied
from credits.units.frames import Frames
from credits.units.spoken import spoken_day, spoken_minutes

TARGETS = {kind: f"{kind}s" for kind in ("character", "puppet", "part", "sequence", "shot")}
KINDS = {"craft": "crafts", "person": "people", **TARGETS, "stage": "stages"}
"""What a word may be the code or the name of: the column, and the table that has it."""

COLUMN_WORDS = {
    **{kind: kind for kind in KINDS},
    **{word: word for word in ("take", "frames", "share", "minutes", "note", "ref", "private")},
    "poses": "poses_on", "on": "finished_on", "from": "started_on",
    "wait": "wait_minutes", "by": "logged_by",
}  # fmt: skip
"""A word that says what the next one is, and the column that is meant."""

THINGS = ("character", "puppet", "part")
WHERE = ("sequence", "shot", "take", "frames")
MOST_WORDS = 5
"""How many words of a line may be one name, one day or one length."""

_WORDS = re.compile(r"""\s*(?:"([^"]*)"(?!\S)|'([^']*)'(?!\S)|--(?:\s+(.*))?$|(\S+))""", re.DOTALL)
_POSES = re.compile(r"x([1-9]\d{0,2})", re.IGNORECASE)
_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


class Word(NamedTuple):
    """A word of a line; one that was quoted is a text, whatever it says."""

    text: str
    is_quoted: bool = False


class AmbiguousWordError(WrongCall):
    """A word that means several things. ``ways``: each as column and code."""

    def __init__(self, finding: Finding, word: str, ways: Sequence[tuple[str, str]]) -> None:
        super().__init__(finding)
        self.word = word
        self.ways = tuple(ways)

    def meant(self, words: Sequence[Word], way: tuple[str, str]) -> list[Word]:
        """Return the words with this one said to be what it is: ``shot 12`` for ``12``."""
        parts = self.word.split()
        for at in range(len(words)):
            if [word.text for word in words[at : at + len(parts)]] == parts:
                column = next(w for w, c in COLUMN_WORDS.items() if c == way[0])
                return [*words[:at], Word(column), Word(way[1]), *words[at + len(parts) :]]
        return list(words)


def split_words(line: str) -> list[Word]:
    """Part a line into words. What is quoted, or stands behind ``--``, is one word."""
    words = []
    for match in _WORDS.finditer(line.strip()):
        double, single, rest, plain = match.groups()
        text = next((part for part in (plain, double, single, rest) if part is not None), "")
        words.append(Word(text, is_quoted=plain is None))
    return words


def wrong_frames(text: str) -> tuple[Finding, ...]:
    """Return what is wrong with a text as frames; nothing where it is frames."""
    try:
        Frames.parse(text)
    except ProblemsFound as error:
        return error.findings
    return ()


class LineReader:
    """Reads the words of lines in the codes and names of one production."""

    def __init__(self, written: WrittenLog, today: date, option: str = "") -> None:
        """``option``: what stands before the name of a column where a hint says one."""
        self._tables: dict[str, Sequence[Coded]] = {
            kind: getattr(written, table) for kind, table in KINDS.items()
        }
        self._codes = {kind: Codes.of(table, self._tables[kind]) for kind, table in KINDS.items()}
        self._day_minutes = written.production.day_minutes
        self._today = today
        self._option = option

    def read(
        self,
        words: Sequence[Word],
        *,
        is_shot_known: bool = False,
        first: Sequence[str] = (),
    ) -> dict[str, str]:
        """Return the cells that the words say; several people are parted by commas.

        is_shot_known: frames may stand without a shot, as it is said elsewhere.
        first: what the first words are, where they can be that: ``craft``, ``person``. Then the
        others are targets before they are crafts or people.
        Raises WrongCall for a word that is unknown or one too many, AmbiguousWordError.
        """
        try:
            return self._read(words, is_shot_known, first, longest=1)
        except _NotReadError:
            # A name of several words, or one that is no code.
            try:
                return self._read(words, is_shot_known, first, longest=MOST_WORDS)
            except _NotReadError as error:
                raise self._unknown(
                    error.word, is_shot_known or error.has_shot, error.kinds
                ) from None

    def _read(
        self, words: Sequence[Word], is_shot_known: bool, first: Sequence[str], longest: int
    ) -> dict[str, str]:
        found: dict[str, str] = {}
        at = 0
        names_shot = any(self._code("shot", w.text.rpartition("/")[0] or w.text) for w in words)
        while at < len(words):
            word = words[at]
            column = None if word.is_quoted else self._column(word.text)
            if word.is_quoted:
                _put(found, {"note": word.text})
                at += 1
            elif column is not None:
                cells, used = self._value(column, words[at + 1 :], word.text)
                _put(found, cells)
                at += 1 + used
            else:
                prefer = (first[at],) if at < len(first) else () if not first else _NOT_FIRST
                has_shot = is_shot_known or "shot" in found
                fitting, used = self._longest(words[at:], has_shot, prefer, longest)
                if not fitting and names_shot and not wrong_frames(word.text):
                    fitting, used = {"frames": word.text}, 1
                if not fitting:
                    missing = [kind for kind in first[at : at + 1] if kind not in found]
                    kinds = missing or (list(TARGETS) if first else list(KINDS))
                    raise _NotReadError(word.text, "shot" in found, kinds)
                _put(found, fitting)
                at += used
        return found

    def _code(self, kind: str, text: str) -> str | None:
        return self._codes[kind].get(text)

    def _column(self, text: str) -> str | None:
        """Return the column that a word announces; a word that is a code announces none."""
        column = COLUMN_WORDS.get(text.lower())
        if column is None or any(self._code(kind, text) for kind in KINDS):
            return None
        return column

    def _longest(
        self, words: Sequence[Word], has_shot: bool, prefer: Collection[str], longest: int
    ) -> tuple[dict[str, str], int]:
        """Return what the most words mean together, and how many they are."""
        for count, text in _runs(words, longest):
            ways = list(self._meanings(text, has_shot, names=longest > 1))
            ways = [way for way in ways if way[0] in prefer] or ways
            if len(ways) > 1:
                raise self._ambiguous(text, ways)
            if ways:
                ((column, value),) = ways
                if column == "shot" and "/" in value:
                    shot, _, take = value.partition("/")
                    return {"shot": shot, "take": take}, count
                return {column: value}, count
        return {}, 0

    def _meanings(self, text: str, has_shot: bool, names: bool) -> Iterator[tuple[str, str]]:
        """Find everything that a text may mean: a code before a name."""
        codes = [(kind, code) for kind in KINDS if (code := self._code(kind, text)) is not None]
        yield from codes
        is_frames = has_shot and not wrong_frames(text)
        if is_frames and not (codes and text.startswith("0")):
            yield "frames", text
        if spoken_minutes(text, self._day_minutes) is not None:
            yield "minutes", text
        if poses := _POSES.fullmatch(text):
            yield "poses_on", poses[1]
        if codes or is_frames:
            return
        shot, slash, take = text.rpartition("/")
        code = self._code("shot", shot) if slash else None
        if code is not None and take.isascii() and take.isdigit():
            yield "shot", f"{code}/{take}"
        if (several := self._people(text)) is not None:
            yield "person", several
        if names:
            for kind, facts in self._tables.items():
                yield from ((kind, fact.code) for fact in of_name(text, facts))

    def _people(self, text: str) -> str | None:
        """Return the codes of ``ana+ben``, parted by commas; None where it is no such list."""
        pieces = [piece.strip() for piece in re.split(r"[+,]", text)]
        if len(pieces) < 2 or not all(pieces):
            return None
        codes = [code for code in map(self._person, pieces) if code is not None]
        return ",".join(codes) if len(codes) == len(pieces) else None

    def _person(self, text: str) -> str | None:
        """Return the code of a person who is named by it, or alone has the name."""
        code = self._code("person", text)
        named = [] if code else of_name(text, self._tables["person"])
        return named[0].code if len(named) == 1 else code

    def people(self, text: str) -> str:
        """Read ``ana+ben``, codes or names, as codes parted by commas. Raises WrongCall."""
        pieces = [text] if self._code("person", text) else re.split(r"[+,]", text)
        facts = self._tables["person"]
        return ",".join(fact_named("people", piece, facts).code for piece in pieces)

    def _value(self, column: str, words: Sequence[Word], said: str) -> tuple[dict[str, str], int]:
        """Read what stands behind the name of a column, and how many words that is."""
        if column == "private":
            return {column: "yes"}, 0
        if not words:
            what = f"nothing stands behind {said}"
            raise WrongCall(Finding(what, f"Write what it is: {said} ..."))
        if column == "note":
            return {column: " ".join(word.text for word in words)}, len(words)
        if words[0].is_quoted:
            return {column: words[0].text}, 1
        if column == "shot" and "/" in words[0].text:
            shot, _, take = words[0].text.rpartition("/")
            return {"shot": shot, "take": take}, 1
        for count, text in _runs(words, MOST_WORDS):
            if self._is_value(column, text):
                return {column: self._people(text) or text if column == "person" else text}, count
        return {column: words[0].text}, 1

    def _is_value(self, column: str, text: str) -> bool:
        if column in ("minutes", "wait_minutes"):
            return spoken_minutes(text, self._day_minutes) is not None
        if column in ("finished_on", "started_on"):
            return spoken_day(text, self._today) is not None
        if column in KINDS:
            if column == "person" and self._people(text) is not None:
                return True
            return bool(self._code(column, text) or of_name(text, self._tables[column]))
        return False

    def _ambiguous(self, text: str, ways: Sequence[tuple[str, str]]) -> AmbiguousWordError:
        columns = list(dict.fromkeys(column for column, _ in ways))
        if len(columns) == 1 and columns[0] in KINDS:
            table = KINDS[columns[0]]
            codes = {code for _, code in ways}
            facts = [fact for fact in self._tables[columns[0]] if fact.code in codes]
            return AmbiguousWordError(name_of_several(table, text, facts), text, ways)
        names = [column if column == "frames" else f"a {column}" for column in columns]
        hint = " or ".join(
            f"{'' if column in ('craft', 'person') else self._option}{column} {value}"
            for column, value in ways
        )
        finding = Finding(f"is {' and '.join(names)}", f"Say which is meant: {hint}.", value=text)
        return AmbiguousWordError(finding, text, ways)

    def _unknown(self, word: str, has_shot: bool, kinds: Sequence[str]) -> WrongCall:
        """Say that a word is none of some kinds of things, and what it is like."""
        if has_shot and _LOOKS_LIKE_FRAMES.fullmatch(word):
            return WrongCall(*wrong_frames(word))
        pieces = [piece.strip() for piece in re.split(r"[+,]", word)]
        nobody = [piece for piece in pieces if piece and self._person(piece) is None]
        if "person" in kinds and len(nobody) < len(pieces):
            word = next(iter(nobody), word)  # of ana+nobody only one is not known
        like = like_ones(word, [fact for kind in kinds for fact in self._tables[kind]])
        hint = "Write the code of one, or load it into its table first; see `credits find`."
        if len(kinds) == 1:
            hint = f"Add it to the {KINDS[kinds[0]]} table, or correct the code."
        hint = like or hint
        if not like and not wrong_frames(word):
            hint = f"Frames stand behind their shot: 010-020 1-30. {hint}"
        which = " or ".join(filter(None, (", ".join(kinds[:-1]), kinds[-1])))
        return WrongCall(Finding(f"no {which} has this code or name", hint, value=word))


_NOT_FIRST = (*TARGETS, "stage", "frames", "take", "minutes", "poses_on")


class _NotReadError(Exception):
    """A word that means nothing as it stands, and what it was looked for among."""

    def __init__(self, word: str, has_shot: bool, kinds: Sequence[str]) -> None:
        super().__init__(word)
        self.word = word
        self.has_shot = has_shot
        self.kinds = kinds


def _runs(words: Sequence[Word], longest: int) -> Iterator[tuple[int, str]]:
    """Yield the first words together, the most of them first; a quoted one ends them."""
    plain = 0
    while plain < min(longest, len(words)) and not words[plain].is_quoted:
        plain += 1
    for count in range(plain, 0, -1):
        yield count, " ".join(word.text for word in words[:count])


def _put(found: dict[str, str], cells: Mapping[str, str]) -> None:
    for column, value in cells.items():
        if column in found:
            thing = f"two {KINDS[column]}" if column in KINDS else f"{column} twice"
            hint = "Log one entry for each."
            if column == "person":
                hint = f"Join them: {found[column]}+{value}."
            what = f"the entry names {thing}: {found[column]} and {value}"
            raise WrongCall(Finding(what, hint))
        found[column] = value


def each_person(cells: Mapping[str, str]) -> list[dict[str, str]]:
    """Return a row for each person that the cells name, with that person's share.

    ``person`` and ``share`` may hold several, parted by commas; one share is everybody's.
    Raises WrongCall where there are not as many shares as people, or one person is named twice.
    """
    people = [code for code in cells.get("person", "").split(",") if code.strip()]
    if len(people) < 2:
        return [dict(cells)]
    if len(set(people)) < len(people):
        raise WrongCall(Finding("names one person twice", "Name each once.", None, "person"))
    shares = [share for share in cells.get("share", "").split(",") if share.strip()]
    if len(shares) == 1:
        shares *= len(people)
    if shares and len(shares) != len(people):
        what = f"{len(shares)} shares for {len(people)} people"
        hint = "Write one for each in their order, such as 2,1."
        raise WrongCall(Finding(what, hint, None, "share", cells["share"]))
    rows = [{**cells, "person": person} for person in people]
    return (
        [{**row, "share": share} for row, share in zip(rows, shares, strict=True)]
        if shares
        else rows
    )


def filled(
    said: Mapping[str, str], before: Mapping[str, str], character_of: Callable[..., str | None]
) -> dict[str, str]:
    """Return the cells with what is not said as it was before.

    A puppet or a part that is said, or another character than before, leaves out what was worked
    on before; another shot its take and frames.
    character_of: the character of the things that cells name.
    """
    left_out: set[str] = set()
    says_copy = said.get("puppet") or said.get("part")
    if says_copy or (said.get("character") and character_of(said) != character_of(before)):
        left_out.update(THINGS)
    if said.get("shot") and before.get("shot", "").casefold() != said["shot"].casefold():
        left_out.update(WHERE)
    if said.get("sequence") and not said.get("shot"):
        left_out.update(WHERE)
    return {c: text for c, text in before.items() if c not in left_out} | dict(said)


def character_reader(written: WrittenLog) -> Callable[[Mapping[str, str]], str | None]:
    """Return what tells the character of the things that cells name by their codes."""
    implied = Implied(written)

    def character(cells: Mapping[str, str]) -> str | None:
        own, puppet, part = (cells.get(column) or None for column in THINGS)
        puppet = puppet if puppet in implied.puppets else None
        part = part if part in implied.parts else None
        work = Work(craft="", person="", character=own, puppet=puppet, part=part)
        return implied.character(work)

    return character
