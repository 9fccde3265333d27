"""The command ``day``: on a terminal a session of short lines, else what the day has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from importlib import import_module

from credits.app.work.day import MISSING
from credits.app.work.entries import Logged, sentence
from credits.app.work.line import COLUMN_WORDS, AmbiguousWordError, Word, split_words
from credits.app.work.named import day_named
from credits.app.work.session import DaySession, StillMissing, in_words
from credits.cli.day_list import say_day
from credits.cli.entries import say_amended, say_effect, say_voided
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.cli.terminal.asking import ask, leaving, may_ask
from credits.errors import CreditsError, Finding
from credits.model.log import Verb
from credits.store.log import open_log
from credits.units.film_time import day_text

HELP = """\
animation ana wick 010-020 1-30 8h    a line of work: its words in any order
ana 31-60 8h                          what is not said is as it was for Ana before
ana+ben wick 1-30                     an entry each; share 2,1 where not equal
8h  8:30  90m  1/2 day                how long; x2: poses on twos; 010-020/2: take 2
-- the scarf slipped                  a note (or "in quotes")
take 2, person ana, wait 20m, by dov  a word may be said to be what it is
undo                                  takes the own last line back
amend A-3 frames 1-24                 corrects; A-3 A-4 for several; note "" takes away
void A-3 logged twice                 voids, with the reason
list, stage S2, stage none, day -1    what the day has; another stage, each where they were; day
An empty line ends."""


def day(
    on: Text = argument(None, "DATE", "The day: 2026-03-02, monday, -1, 6 mar. Default: today."),
    stage: Text = option(
        None,
        "--stage",
        "The stage; '' for wherever each person was.",
        "CODE",
        codes("stages"),
    ),
    listing: bool = option(False, "--list", "Print the day; no session."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """The day: what is logged; on a terminal a session in which short lines are logged."""
    folder = folder_of(production)
    if listing or not may_ask(as_json):
        say_day(folder, day_named(on or "today", "DATE"), stage or None, as_json)
        return
    with open_log(folder) as log:
        with leaving():
            if on is None:
                when = ask("Day", lambda text: day_named(text, "day"), default="today")
            else:
                when = day_named(on, "DATE")
            session = DaySession(log, when)
            if stage is None and session.now().stages:
                hint = "Enter: wherever each person was"
                ask("Stage", session.be_at, hint=hint)
            elif stage:
                session.be_at(stage)
        _run(session)


def _run(session: DaySession) -> None:
    """Answer line after line until an empty one, or Ctrl-D, or Ctrl-C."""
    _complete_with(session.completions)
    printing.say("One line for each entry; ? says how; an empty line ends.")
    with suppress(EOFError, KeyboardInterrupt):
        while line := input(_prompt(session)).strip():
            try:
                _answer(session, line)
            except CreditsError as error:
                printing.problems([*map(_in_words_of_a_line, error.findings)])
    printing.say(in_words(session.numbers()))
    for missing in session.missing():
        _say_missing(missing)


def _in_words_of_a_line(finding: Finding) -> Finding:
    """Name a column as a line names it: ``on``, not ``finished_on``."""
    word = next((word for word, column in COLUMN_WORDS.items() if column == finding.column), None)
    return finding if word is None else replace(finding, column=word)


def _prompt(session: DaySession) -> str:
    where = f", {session.stage}" if session.stage else ""
    return printing.clean(f"{day_text(session.on)}{where}> ")


def _complete_with(complete: Callable[[str], list[str]]) -> None:
    """Let the Tab key complete words, where the interpreter has readline."""
    try:
        readline = import_module("readline")
    except ImportError:
        return
    found: list[str] = []

    def completed(text: str, state: int) -> str | None:
        if state == 0:
            found[:] = complete(text)
        return f"{found[state]} " if state < len(found) else None

    readline.set_completer(completed)
    readline.set_completer_delims(" \t\n+,")
    readline.parse_and_bind("tab: complete")


def _answer(session: DaySession, line: str) -> None:
    words = split_words(line)
    verb, rest = words[0].text.lower(), words[1:]
    if verb in ("?", "help"):
        for each in HELP.splitlines():
            printing.say(each)
    elif verb == "list":
        _say_entries(session)
    elif verb == "day" or (verb == "stage" and len(rest) <= 1):
        said = " ".join(word.text for word in rest)
        (session.be_on if verb == "day" else session.be_at)(said)
    elif verb == "undo":
        _say(session.undo())
    elif verb == "amend":
        _say(_meant(session.amend, rest))
    elif verb == "void":
        _say(session.void(rest))
    else:
        _say(_meant(session.log_line, words))


def _meant(
    write: Callable[[Sequence[Word]], tuple[Logged, ...]], words: Sequence[Word]
) -> tuple[Logged, ...]:
    """Write a line; where one of its words means several things, ask which."""
    while True:
        try:
            return write(words)
        except AmbiguousWordError as error:
            printing.problems(error.findings)
            ways = {str(at): way for at, way in enumerate(error.ways, 1)}
            for at, (column, value) in ways.items():
                printing.say(f"  {at}  {column} {value}")
            chosen = ways.get(input("Which (Enter: none): ").strip())
            if chosen is None:
                return ()
            words = error.meant(words, chosen)


def _say(logged: Sequence[Logged]) -> None:
    for each in logged:
        if each.line is None:
            printing.warn(f"{each.number} says this already: nothing was written.")
        elif each.line.verb is Verb.VOID:
            say_voided(each)
        elif each.line.verb is Verb.AMEND:
            say_amended(each)
        else:
            say_effect(each, as_json=False)


def _say_entries(session: DaySession) -> None:
    entries = session.entries()
    ledger = session.ledger()
    for entry in entries:
        printing.say(f"{entry.number}: {sentence(entry.work, ledger)}.")
    if not entries:
        printing.say("Nothing is logged yet.")


def _say_missing(missing: StillMissing) -> None:
    for entry, columns in missing.entries:
        lacks = " and ".join(f"no {MISSING[column]}" for column in columns)
        printing.say(f"{missing.place}: {entry.number} ({entry.person}) has {lacks}.")
    if missing.idle:
        printing.say(f"{missing.place}: nothing yet of {', '.join(missing.idle)}.")
