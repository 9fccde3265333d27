"""``credits footage``: the five measures by person, shot, character, week or stage."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import codes_named, day_named, persons_named
from credits.cli.completion import production_codes
from credits.cli.options import (
    CharactersOption,
    JsonOption,
    PersonsOption,
    ProductionOption,
    read_ledger,
)
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.footage.table import By, FootageRow, FootageTable
    from credits.model.ledger import Ledger

NO_CUT = "No cut yet: the measures cut and screen stay at 0 until one is brought in (credits cut)."
UNKNOWN_KEY = {"week": "undated", "stage": "no stage"}


def footage(
    by: Annotated[
        str,
        typer.Option(
            "--by",
            metavar="WORDS",
            help="person, shot, character, week, stage; several nest: person,shot.",
        ),
    ] = "person",
    from_day: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="From this day on.")
    ] = None,
    to_day: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Up to this day.")
    ] = None,
    person: PersonsOption = None,
    character: CharactersOption = None,
    sequence: Annotated[
        list[str] | None,
        typer.Option(
            "--sequence",
            metavar="CODE",
            help="Only this sequence; may be given again.",
            autocompletion=production_codes("sequences"),
        ),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Footage by person, shot, character, week or stage.

    Shot, kept, accepted, in the cut, on screen; every column adds up to its total.
    """
    from credits.compute.results import footage_of
    from credits.footage.table import Filters, footage_rows

    words = _by(by)
    first = day_named(from_day, "--from") if from_day else None
    last = day_named(to_day, "--to") if to_day else None
    if first and last and last < first:
        raise WrongCall(Finding(f"--to {last} lies before --from {first}", "Correct one of them."))
    ledger = read_ledger(production)
    filters = Filters(
        from_on=first,
        to_on=last,
        persons=persons_named(person, ledger),
        characters=codes_named("characters", character, ledger.characters),
        sequences=codes_named("sequences", sequence, ledger.sequences),
    )
    table = footage_rows(footage_of(ledger)[2], ledger, words, filters)
    if as_json:
        printing.say_json(_json(table))
    else:
        _say(table, ledger)


def _by(text: str) -> tuple[By, ...]:
    from credits.footage.table import By

    words = [word.strip().lower() for word in text.split(",") if word.strip()]
    known = [str(by) for by in By]
    for word in words or [text]:
        if word not in known or words.count(word) > 1:
            what = "is there twice" if word in known else "is nothing that footage is summed by"
            hint = f"Write {', '.join(known[:-1])} or {known[-1]}."
            raise WrongCall(Finding(what, hint, column="--by", value=word))
    return tuple(By(word) for word in words)


def _figures(row: FootageRow) -> dict[str, object]:
    from credits.footage.footage import MEASURES

    return {
        "character_frames": {m: str(row.totals.character.of(m)) for m in MEASURES},
        "shot_frames": {m: str(row.totals.by_shot.of(m)) for m in MEASURES},
        "seconds": {m: float(row.by_shot.at(m)[1]) for m in MEASURES},
    }


def _json(table: FootageTable) -> dict[str, object]:
    from credits.footage.footage import MEASURES

    return {
        "by": ",".join(table.by),
        "measures": list(MEASURES),
        "cut": table.cut,
        "rows": [
            {**dict(zip(map(str, table.by), row.key, strict=True)), **_figures(row)}
            for row in table.rows
        ],
        "total": _figures(table.total),
    }


def _say(table: FootageTable, ledger: Ledger) -> None:
    """Shot footage in frames for the five measures, kept also as seconds, feet and characters."""
    from credits.footage.footage import MEASURES

    if not table.rows:
        printing.remark("No footage: nobody has claimed frames here yet.")
        return
    unit = "feet+frames" if ledger.production.gauge.whole_feet else "feet"
    figures = (*MEASURES, "kept seconds", f"kept {unit}", "kept by character")
    rows = [[*_keys(table, row, ledger), *_cells(row)] for row in table.rows]
    empty = sum(len(_headings(word)) for word in table.by) - 1
    rows.append(["total", *[""] * empty, *_cells(table.total)])
    headings = [name for word in table.by for name in _headings(word)]
    printing.table((*headings, *figures), rows, numbers=len(figures))
    printing.remark(
        "Frames of shot footage: each frame is 1 and is divided among all who animated in it;"
        " by character each character's frames count on their own."
    )
    if table.cut is None:
        printing.remark(NO_CUT)


def _headings(word: By) -> tuple[str, ...]:
    return (str(word), "name") if word == "person" else (str(word),)


def _keys(table: FootageTable, row: FootageRow, ledger: Ledger) -> list[str]:
    keys: list[str] = []
    for word, code in zip(table.by, row.key, strict=True):
        keys.append(UNKNOWN_KEY.get(word, "") if code is None else code)
        if word == "person":
            keys.append(ledger.people[code or ""].credit_name)
    return keys


def _cells(row: FootageRow) -> list[object]:
    _, seconds, feet = row.by_shot.at("kept")
    return [*row.by_shot.frames, seconds, feet, row.character.at("kept")[0]]
