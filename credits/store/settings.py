"""The settings of a production, and codes made from titles."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

from credits.errors import CreditsError, Finding, NoProduction, Place, ProblemsFound
from credits.files import LOG
from credits.model.facts import DAY_MINUTES, Production, WeeklyTarget
from credits.store.engines.address import KEY as LOG_KEY
from credits.store.engines.address import SETTINGS_NAME as SETTINGS_NAME
from credits.store.engines.address import checked_address
from credits.text import quoted_toml
from credits.toml_text import parse_toml, toml_bytes
from credits.units.film_time import GAUGES, FrameRate, Gauge

RATE, GAUGE = "24", "35mm-4perf"
LONGEST_DAY = 24 * 60
LONGEST_CODE = 40
NOTHING_LEFT = "film"
NAMES_BY = "names_by"
ALPHABET = "alphabet"
TARGETS, A_WEEK = "targets", "frames_a_week"
MOST_A_WEEK = 1_000_000
SENTENCE, LONGEST_SENTENCE = "sentence", 300
A_SENTENCE = "A snail comes home."
KEYS = (
    *("title", "code", "frame_rate", "gauge", "day_minutes"),
    *(SENTENCE, NAMES_BY, ALPHABET, "review", "sheets", TARGETS, LOG_KEY),
)
# It becomes part of file names.
_CODE = re.compile(r"[^\W_](?:[\w.-]{0,62}\w)?")
_SETS_NAMES_BY = re.compile(rf"\s*(#\s*)?{NAMES_BY}\s*=")
_SETS_LOG = re.compile(rf"\s*{LOG_KEY}\s*=")
# Control characters, and halves of characters, which UTF-8 cannot hold.
_NO_LETTER = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")

T = TypeVar("T")


def slug(title: str) -> str:
    """Return a title in plain small letters, digits and dashes; ``film`` when nothing is left."""
    plain = unicodedata.normalize("NFKD", title).casefold()
    letters = "".join(c for c in plain if not unicodedata.combining(c))
    words = re.findall(r"[a-z0-9]+", letters)
    return "-".join(words)[:LONGEST_CODE].strip("-") or NOTHING_LEFT


def read_settings(folder: Path) -> Production:
    """Read the settings of the production in ``folder``.

    Raises NoProduction without a ``production.toml``, ProblemsFound with every problem in it.
    """
    try:
        table = parse_toml(toml_bytes(folder / SETTINGS_NAME).decode("utf-8-sig"))
    except FileNotFoundError as error:
        hint = 'Put it there: it needs a line such as title = "Our Film".'
        finding = Finding("holds no production.toml", hint, value=str(folder))
        raise NoProduction(finding) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        if isinstance(error, OSError):
            what = f"cannot be read ({error.strerror})"
            hint = "See that it is a file that you may read."
        elif isinstance(error, UnicodeDecodeError):
            what, hint = "is not UTF-8 text", "Save it as UTF-8."
        else:
            what, hint = f"is not TOML ({error})", 'A line reads: title = "Our Film".'
        raise ProblemsFound(Finding(what, hint, Place(SETTINGS_NAME))) from error
    if LOG_KEY in table and (folder / LOG).exists():
        what = f"names a log on a server, and {LOG} is here as well: which one is the log?"
        hint = f"Take the line out, or move {LOG} to another folder."
        raise ProblemsFound(Finding(what, hint, Place(SETTINGS_NAME), LOG_KEY))
    return checked(table)


def checked(table: dict[str, Any]) -> Production:
    """Return the settings that a table of keys makes. ProblemsFound with every problem at once."""
    problems: list[Finding] = []

    def add(key: str, what: str, hint: str, within: Mapping[str, object] = table) -> None:
        value = str(within[key]) if key in within else None
        shown = key if within is table else f"[review] {key}"
        problems.append(Finding(what, hint, Place(SETTINGS_NAME), shown, value))

    def parsed(key: str, otherwise: str, parse: Callable[[str], T]) -> T | None:
        try:
            return parse(str(table.get(key, otherwise)))
        except CreditsError as error:
            for finding in error.findings:
                add(key, finding.what, finding.hint)
        return None

    for key in table:
        if key not in KEYS:
            add(key, "is not a setting", f"The settings are {', '.join(KEYS)}.")
    if LOG_KEY in table:
        try:
            checked_address(table[LOG_KEY], Place(SETTINGS_NAME))
        except ProblemsFound as error:
            problems += error.findings
    title = table.get("title")
    if not isinstance(title, str) or not title.strip():
        add("title", "a production needs a title", 'Write title = "Our Film".')
    elif not _is_line(title):
        add("title", "the title is more than one line of text", "Write it on one line.")
    sentence = table.get(SENTENCE, "")
    if not _is_line(sentence) or len(sentence) > LONGEST_SENTENCE:
        what = f"is not one line of at most {LONGEST_SENTENCE} characters"
        add(SENTENCE, what, f'Write what the film is about: {SENTENCE} = "{A_SENTENCE}"')
    code = table.get("code", slug(title) if isinstance(title, str) else NOTHING_LEFT)
    if not isinstance(code, str) or not _CODE.fullmatch(code):
        add("code", "is not a code", "Write letters, digits and dashes, such as our-film.")
    rate = parsed("frame_rate", RATE, FrameRate.parse)
    gauge = parsed("gauge", GAUGE, Gauge.parse)
    day_minutes = table.get("day_minutes", DAY_MINUTES)
    whole = isinstance(day_minutes, int) and not isinstance(day_minutes, bool)
    if not whole or not 1 <= day_minutes <= LONGEST_DAY:
        hint = f"Write whole minutes from 1 to {LONGEST_DAY}, such as {DAY_MINUTES}."
        add("day_minutes", "is not the length of a working day", hint)
    names_by = table.get(NAMES_BY)
    if names_by is not None and type(names_by) is not date:
        hint = f"Write a day without quotes: {NAMES_BY} = 2026-04-01."
        add(NAMES_BY, "is not a day", hint)
    alphabet: str | None = ""
    if ALPHABET in table:
        # Few productions set one; what orders names takes longer to import than a question.
        alphabet = parsed(ALPHABET, "", import_module("credits.alphabets").checked_alphabet)
    review, hint = table.get("review", {}), 'Write expectation = "on" or "off" under [review].'
    if not isinstance(review, dict):
        add("review", "is a table of its own", hint)
    for key, value in review.items() if isinstance(review, dict) else ():
        if key != "expectation":
            add(key, "is not a setting of reviews", hint, review)
        elif value not in ("on", "off"):
            add(key, "is neither on nor off", hint, review)
    sheet_words = _sheet_words(table.get("sheets", {}), problems)
    targets = _targets(table.get(TARGETS, {}), problems)
    if problems or rate is None or gauge is None or alphabet is None:
        raise ProblemsFound(*problems)
    assert isinstance(title, str)
    return Production(
        title=title,
        code=code,
        rate=rate,
        gauge=gauge,
        day_minutes=day_minutes,
        expectation=review.get("expectation") != "off",
        sheet_words=sheet_words,
        names_by=names_by,
        targets=targets,
        sentence=sentence.strip(),
        alphabet=alphabet,
    )


def _is_line(text: object) -> bool:
    """Tell whether something is one line of text, or none."""
    return (
        isinstance(text, str) and text.splitlines() in ([], [text]) and not _NO_LETTER.search(text)
    )


def with_names_by(text: str, day: date) -> str:
    """Return the text of a ``production.toml`` with the day by which names are to be confirmed.

    Everything else in it stays as it was written.
    """
    now, line = parse_toml(text), f"{NAMES_BY} = {day.isoformat()}"
    if now.get(NAMES_BY) == day:
        return text
    lines = text.splitlines(keepends=True)
    end = "\r\n" if text.count("\r\n") else "\n"
    table = next((at for at, each in enumerate(lines) if each.lstrip().startswith("[")), len(lines))
    head = [at for at, each in enumerate(lines[:table]) if _SETS_NAMES_BY.match(each)]
    while table and lines[table - 1].lstrip()[:1] in ("", "#"):
        table -= 1  # what is written above a table belongs to it
    above = "" if not table or lines[table - 1].endswith("\n") else end
    new = f"{above}{end}# The day by which everybody is to say how their name is spelled.{end}"
    tries = [[*lines[:at], f"{line}{end}", *lines[at + 1 :]] for at in head]
    gap = end if lines[table:] and lines[table].strip() else ""
    tries.append([*lines[:table], f"{new}{line}{end}{gap}", *lines[table:]])
    tries.append([f"{line}{end}", *lines])
    for written in map("".join, tries):
        with suppress(tomllib.TOMLDecodeError):
            if tomllib.loads(written) == {**now, NAMES_BY: day}:
                return written
    hint = f"Write it yourself, above all tables: {line}"
    raise ProblemsFound(Finding("cannot be changed", hint, Place(SETTINGS_NAME), NAMES_BY))


def without_log(text: str) -> str:
    """Return settings as they read without an address of the log. Raises ProblemsFound."""
    if LOG_KEY not in tomllib.loads(text):
        return text
    wanted = {key: value for key, value in tomllib.loads(text).items() if key != LOG_KEY}
    lines = text.splitlines(keepends=True)
    for at, line in enumerate(lines):
        if _SETS_LOG.match(line):
            written = "".join([*lines[:at], *lines[at + 1 :]])
            with suppress(tomllib.TOMLDecodeError):
                if tomllib.loads(written) == wanted:
                    return written
    hint = "Write it on one line."
    raise ProblemsFound(Finding("cannot be left out", hint, Place(SETTINGS_NAME), LOG_KEY))


def _sheet_words(said: object, problems: list[Finding]) -> tuple[tuple[str, str], ...]:
    """Read ``[sheets]``: each key means one table or column, or several of different tables."""
    place, hint = Place(SETTINGS_NAME), 'Write date = "finished_on" under [sheets].'
    if not isinstance(said, dict):
        problems.append(Finding("is a table of its own", hint, place, "sheets", str(said)))
        return ()
    found: list[tuple[str, str]] = []
    for key, value in said.items():
        for meant in value if isinstance(value, list) else [value]:
            if isinstance(meant, str):
                found.append((key, meant))
            else:
                what = "is no text"
                problems.append(Finding(what, hint, place, f"[sheets] {key}", str(meant)))
    return tuple(found)


def _targets(said: object, problems: list[Finding]) -> tuple[WeeklyTarget, ...]:
    """Read ``[targets]``: frames a week from the beginning, or each from a day on."""
    place = Place(SETTINGS_NAME)
    hint = (
        f"Write {A_WEEK} = 300 under [{TARGETS}], or 2026-03-02 = 300 under [{TARGETS}.{A_WEEK}]."
    )

    def add(key: str, what: str, value: object, hint: str = hint) -> None:
        problems.append(Finding(what, hint, place, key, str(value)))

    if not isinstance(said, dict):
        add(TARGETS, "is a table of its own", said)
        return ()
    for key, value in said.items():
        if key != A_WEEK:
            add(f"[{TARGETS}] {key}", "is not a target", value)
    frames = said.get(A_WEEK, {})
    by_day: dict[Any, Any] = frames if isinstance(frames, dict) else {None: frames}
    found: dict[date | None, int] = {}
    for text, value in by_day.items():
        key = f"[{TARGETS}] {A_WEEK}" if text is None else f"[{TARGETS}.{A_WEEK}] {text}"
        day = None
        if text is not None:
            with suppress(ValueError):
                day = date.fromisoformat(text)
            if day is None or day.isoformat() != text:
                add(key, "is not a day", text, "Write year, month and day: 2026-03-02 = 300.")
                continue
        # A truth value is a whole number to Python, and none to whoever wrote it.
        if type(value) is int and 1 <= value <= MOST_A_WEEK:
            found[day] = value
        else:
            frames_hint = f"Write whole frames from 1 to {MOST_A_WEEK}, without quotes: 300."
            add(key, "is no number of frames", value, frames_hint)
    ordered = sorted(found.items(), key=lambda item: item[0] or date.min)
    return tuple(WeeklyTarget(frames, day) for day, frames in ordered)


def _targets_text(targets: tuple[WeeklyTarget, ...]) -> str:
    """Write ``[targets]``; without any as an example, in comments."""
    if not targets:
        return f"# [{TARGETS}]\n# {A_WEEK} = 300"
    if targets[0].from_on is None:
        return f"[{TARGETS}]\n{A_WEEK} = {targets[0].frames}"
    rows = "\n".join(f"{each.from_on} = {each.frames}" for each in targets)
    return f"[{TARGETS}.{A_WEEK}]\n{rows}"


def settings_text(production: Production, log: str | None = None) -> str:
    """Write a new ``production.toml``, with a word to each setting.

    log: the address of the log, where that is on a server.
    """
    on_server = ""
    if log is not None:
        on_server = f"""
# Where the log is: a database on a server, for several sites. Who connects has the password in
# PGPASSWORD or in ~/.pgpass, never here.
{LOG_KEY} = {quoted_toml(log)}
"""
    return f"""\
# The settings of this production. Text stands in quotes.

# The title of the film, as it is to be read.
title = {quoted_toml(production.title)}
{on_server}
# What the film is about in one sentence, for the first page of the public site.
{"" if production.sentence else "# "}sentence = {quoted_toml(production.sentence or A_SENTENCE)}

# A short name for file names: letters, digits and dashes.
code = {quoted_toml(production.code)}

# Frames a second: "24", "25", "30", "24000/1001", "30000/1001", ...
frame_rate = {quoted_toml(production.rate.text)}

# The gauge that footage in feet is counted in: {", ".join(gauge.name for gauge in GAUGES)}.
gauge = {quoted_toml(production.gauge.name)}

# The length of a working day in minutes.
day_minutes = {production.day_minutes}

# The day by which everybody is to say how their name is spelled, without quotes.
{"" if production.names_by else "# "}names_by = {production.names_by or "2026-04-01"}

# The language in whose order names stand: "sv" puts Å, Ä and Ö behind Z, "cs" has letters Č and Ch.
# It needs ICU, an extra of the installation.
{"" if production.alphabet else "# "}alphabet = {quoted_toml(production.alphabet or "sv")}

# Reviews of animators may show what pace would be usual for their shots, by a model of this log.
# To leave it out, take the signs before these two lines away; they stay below all lines above.
{"# " if production.expectation else ""}[review]
{"# " if production.expectation else ""}expectation = "off"

# How many frames the unit is to keep in a week, drawn in where the weeks are shown; or, with days,
# from the week of each day on: 2026-03-02 = 300 under [targets.frames_a_week].
{_targets_text(production.targets)}

# What departments call their files, sheets and columns, and which table or column it is.
# [sheets]
# "Crew list*" = "people"
# date = "finished_on"
# hours = "minutes in hours"
# "shoe size" = "left out"
"""
