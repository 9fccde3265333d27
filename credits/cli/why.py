"""The command why: why somebody, a heading, a character, or who does not print, reads so."""

from __future__ import annotations

from collections.abc import Iterable

from credits.app.end_credits.why import (
    Why,
    WhyCharacter,
    WhyHeading,
    WhyNotPrinted,
    WhyOwnLine,
    WhyPerson,
    why_not_printed,
)
from credits.app.end_credits.why import why as why_of
from credits.billing.credits import Considered, Credits, Held, Line, Section
from credits.billing.reasons import Reason, in_words
from credits.billing.thresholds import Reached
from credits.cautions import CREDITS_CAUTION
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.formats.deliver.plain import because_json
from credits.model.facts import Person
from credits.model.ledger import Ledger
from credits.model.words import counted
from credits.site.pages.credits import entry_ranges, figures_text

NOT_OWED = "No credit is owed yet: the log has no work and the crew list no engagement."


def why(
    words: list[str] | None = argument(
        None,
        "[PERSON|HEADING|CHARACTER]...",
        "A code or a name; of a person a former or legal name too. person=, heading=, character="
        " or line= before it says which is meant.",
        codes("people", "characters"),
    ),
    nobody: bool = option(False, "--not-printed", "Of everybody who does not print."),
    episode: Text = option(None, "--episode", "In the credits of this episode.", "EPISODE"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Why people are where they are in the credits, or are not.

    Of a person, of all under a heading, of all who worked on a character, or of all who do not
    print.
    """
    text = " ".join(words or ()).strip()
    if nobody == bool(text):
        what = "asks about everybody" if nobody else "nobody is asked about"
        hint = f"Leave '{text}' out." if nobody else "Name a person, a heading or a character."
        raise WrongCall(Finding(what, hint, column="--not-printed" if nobody else None))
    folder = folder_of(production)
    if nobody:
        found = why_not_printed(folder, episode)
        printing.isolate(_names_in(found))
        (_json_not_printed if as_json else _say_not_printed)(found)
    else:
        _say_answer(why_of(folder, text, episode), as_json)
    if not as_json:
        printing.warn(CREDITS_CAUTION)


def _say_answer(given: Why, as_json: bool) -> None:
    answer = given.answer
    printing.isolate(_names_in(answer))
    if as_json:
        shape = _shape(answer)
        printing.say_json({**shape, "also": list(given.also), "caution": CREDITS_CAUTION})
        return
    match answer:
        case WhyPerson():
            if answer.called is not None:
                what, name = answer.called
                printing.say(f"{answer.person.code}, by the {what} {name}:")
            _say_why(answer.credits, answer.person, answer.confirmed)
        case WhyHeading():
            _say_heading(answer)
        case WhyCharacter():
            _say_character(answer)
        case WhyOwnLine():
            _say_own_line(answer)
    for other in given.also:
        printing.remark(f"Called so too: credits why {other}")


def _names_in(
    answer: WhyPerson | WhyHeading | WhyCharacter | WhyOwnLine | WhyNotPrinted,
) -> set[str]:
    """Gather the names and headings that an answer is told with."""
    lines: Iterable[tuple[Section, Line]] = ()
    held: Iterable[Held] = ()
    names: set[str] = set()
    match answer:
        case WhyPerson():
            lines, held = answer.credits.lines, answer.credits.held
            names |= {
                answer.person.credit_name,
                *(one.heading for one in answer.credits.considered),
            }
            names |= {answer.called.name} if answer.called is not None else set()
        case WhyHeading():
            lines = [(section, line) for section in answer.found.sections for line in section.lines]
            names |= {answer.found.heading}
            names |= {answer.ledger.people[one.person].credit_name for one in answer.found.not_here}
        case WhyCharacter():
            lines, held = answer.found.lines, answer.found.held
            names |= {answer.character.name}
        case WhyOwnLine():
            lines = answer.lines
        case WhyNotPrinted():
            held = (*answer.found.people, *answer.found.lines)
            names |= {person.credit_name for person in answer.ledger.people.values()}
    for section, line in lines:
        names |= {section.heading, line.name, line.role or ""}
    return names.union(*({one.name, one.heading or ""} for one in held))


def _shape(answer: WhyPerson | WhyHeading | WhyCharacter | WhyOwnLine) -> dict[str, object]:
    match answer:
        case WhyPerson():
            called = answer.called
            return {
                "about": "person",
                **_json(answer.credits, answer.person, answer.confirmed),
                "found_by": called and called.what,
                "called": called and called.name,
            }
        case WhyHeading():
            found = answer.found
            return {
                "about": "heading",
                "heading": found.heading,
                "plan": answer.plan,
                "lines": [_line_json(s, line) for s in found.sections for line in s.lines],
                "not_here": [
                    {**_who_json(one.person, answer.ledger), **_considered_json(one)}
                    for one in found.not_here
                ],
            }
        case WhyCharacter():
            return {
                "about": "character",
                **printing.fields_json(answer.character, "character=code name"),
                "plan": answer.plan,
                "lines": [_line_json(*each) for each in answer.found.lines],
                "held": [_held_json(one) for one in answer.found.held],
            }
        case WhyOwnLine():
            return {
                "about": "line",
                "name": answer.name,
                "plan": answer.plan,
                "lines": [_line_json(*each) for each in answer.lines],
            }


def _who_json(code: str, ledger: Ledger) -> dict[str, object]:
    return {"person": code, "name": ledger.people[code].credit_name}


def _line_json(section: Section, line: Line) -> dict[str, object]:
    shape = {"heading": section.heading, "person": line.person or None}
    return {**shape, **_with_reasons(line, "name role")}


def _held_json(one: Held) -> dict[str, object]:
    return {"person": one.person, "name": one.name, **_held(one)}


def _held(one: Held) -> dict[str, object]:
    return {"heading": one.heading or None, **_with_reasons(one, "reason")}


def _json_not_printed(given: WhyNotPrinted) -> None:
    found, ledger = given.found, given.ledger
    printing.say_json(
        {
            "about": "not printed",
            "plan": given.plan,
            "people": [_held_json(one) for one in found.people],
            "lines": [_held_json(one) for one in found.lines],
            "left_out": [
                {**_who_json(one.person, ledger), **_considered_json(one)} for one in found.left_out
            ],
            "not_owed": [_who_json(code, ledger) for code in found.not_owed],
            "caution": CREDITS_CAUTION,
        }
    )


def _called(person: str, name: str) -> str:
    return f"{name} ({person})" if person else name


def _say_lines(lines: Iterable[tuple[Section, Line]], with_heading: bool) -> None:
    for section, line in lines:
        role = f", {line.role}" if line.role else ""
        under = f"Under '{section.heading}': " if with_heading else ""
        printing.heading(f"{under}{_called(line.person, line.name)}{role}")
        _say_because(line.because)


def _say_held(held: Iterable[Held]) -> None:
    for one in held:
        under = f" under '{one.heading}'" if one.heading else ""
        printing.heading(f"Not printed{under}: {_called(one.person, one.name)}: {one.reason}")
        _say_because(one.because)


def _say_not_here(considered: Iterable[Considered], ledger: Ledger) -> None:
    for one in considered:
        who = _called(one.person, ledger.people[one.person].credit_name)
        printing.heading(f"Not under '{one.heading}': {who}: {one.outcome}")
        printing.say_wrapped(f"  {one.not_here}")
        _say_because(one.because, threshold=False)


def _say_heading(given: WhyHeading) -> None:
    found = given.found
    lines = [(section, line) for section in found.sections for line in section.lines]
    names = counted(len(lines), "name") if lines else "nobody"
    printing.say(f"'{found.heading}', by the {given.plan}: {names}")
    _say_lines(lines, with_heading=False)
    _say_not_here(found.not_here, given.ledger)


def _say_character(given: WhyCharacter) -> None:
    found, one = given.found, given.character
    lines = counted(len(found.lines), "line") if found.lines else "no line"
    printing.say(f"{one.name} ({one.code}), by the {given.plan}: {lines}")
    _say_lines(found.lines, with_heading=True)
    _say_held(found.held)


def _say_own_line(given: WhyOwnLine) -> None:
    printing.say(f"'{given.name}', by the {given.plan}: written in the plan itself")
    _say_lines(given.lines, with_heading=True)


def _say_not_printed(given: WhyNotPrinted) -> None:
    found = given.found
    people = counted(len(found.people), "person", "people") if found.people else "nobody"
    printing.say(f"Not printed, by the {given.plan}: {people}")
    _say_held((*found.people, *found.lines))
    _say_not_here(found.left_out, given.ledger)
    if found.not_owed:
        printing.heading("No credit is owed yet: no work and no engagement")
        for code in found.not_owed:
            printing.say(f"  {_called(code, given.ledger.people[code].credit_name)}")


def _json(found: Credits, who: Person, confirmed: bool) -> dict[str, object]:
    return {
        **printing.fields_json(who, "person=code name=credit_name"),
        "confirmed": confirmed,
        "plan": found.plan,
        "lines": [
            {"heading": section.heading, **_with_reasons(line, "name role")}
            for section, line in found.lines
        ],
        "considered": [_considered_json(one) for one in found.considered],
        "held": next(map(_held, found.held), None),
        "held_lines": [_held(one) for one in found.held_lines],
    }


def _with_reasons(fact: Line | Held, fields: str) -> dict[str, object]:
    return {**printing.fields_json(fact, fields), "because": because_json(fact.because)}


def _considered_json(one: Considered) -> dict[str, object]:
    return {
        **printing.fields_json(one, "heading outcome to=destination"),
        "asked": _reached_json(one.reached) if one.reached else None,
        "because": because_json(one.because),
    }


def _reached_json(reached: Reached) -> dict[str, object]:
    threshold = reached.threshold
    return {
        "threshold": threshold.words,
        "counted_in": threshold.counted_in,
        "least": str(threshold.least),
        "reached": str(reached.figure),
        **printing.fields_json(reached, "reached_shown=shown enough character without_cut"),
    }


def _say_why(found: Credits, who: Person, confirmed: bool) -> None:
    remark = "" if confirmed else " (spelling not confirmed)"
    printing.say(f"{who.credit_name}{remark}, by the {found.plan}")
    for section, line in found.lines:
        role = f", {line.role}" if line.role else ""
        printing.heading(f"Under '{section.heading}': {line.name}{role}")
        _say_because(line.because)
    for held in found.held:
        printing.heading(f"Not printed: {held.reason}")
        _say_because(held.because)
    for one in found.not_here:
        printing.heading(f"Not under '{one.heading}': {one.outcome}")
        printing.say_wrapped(f"  {one.not_here}")
        _say_because(one.because, threshold=False)
    if not found.lines and not found.held:
        printing.say(NOT_OWED)


def _say_because(reasons: tuple[Reason, ...], threshold: bool = True) -> None:
    words, crew = in_words(reasons), in_words(reasons, office=False)
    printing.say_wrapped(f"  {words.rule}")
    if threshold and words.threshold:
        printing.say_wrapped(f"  {words.threshold}")
    contract = (figure for figure in words.figures if figure not in crew.figures)
    figures = "; ".join(filter(None, (figures_text(crew.figures), figures_text(contract))))
    if figures:
        printing.say_wrapped(f"  Figures: {figures}.")
    if words.entries:
        printing.say_wrapped(f"  Entries: {entry_ranges(words.entries)}.")
