"""Commands for figures: footage, hands, reach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from credits.app.figures import footage_of, reach_of, read_ledger
from credits.app.work.named import codes_named, days_named, fact_named, persons_named
from credits.cli.options import (
    FromOption,
    JsonOption,
    Number,
    ProductionOption,
    ToOption,
    argument,
    option,
)
from credits.cli.production import Characters, Persons, Sequences, codes, folder_of
from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.footage import table as tables
from credits.footage.claims import claim_runs
from credits.footage.cut import chosen_take
from credits.footage.footage import MEASURES, FootageTotals, summed
from credits.footage.table import By, FootageRow, footage_rows
from credits.hands.hands import Hand, HandRun, Hands, Via
from credits.hands.reach import Reach
from credits.memory import all_kept
from credits.model.ledger import Ledger
from credits.names import sort_key
from credits.units.film_time import seconds_text
from credits.units.table import Column, PrintedCell, Scale, Table, Unit

NO_CUT = "No cut yet: the measures cut and screen stay at 0 until one is imported (credits cut)."
UNKNOWN_KEY = {"week": "undated", "stage": "no stage"}


def footage(
    by: str = option(
        "person",
        "--by",
        "person, shot, character, week, stage; several nest: person,shot.",
        "WORDS",
    ),
    from_day: FromOption = None,
    to_day: ToOption = None,
    person: Persons = None,
    character: Characters = None,
    sequence: Sequences = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Footage by person, shot, character, week or stage.

    Shot, kept, accepted, in the cut, on screen; every column adds up to its total.
    """
    words = _by(by)
    first, last = days_named(from_day, to_day)
    ledger, found = footage_of(folder_of(production))
    filters = tables.Filters(
        from_on=first,
        to_on=last,
        persons=persons_named(person, ledger),
        characters=codes_named("characters", character, ledger.characters),
        sequences=codes_named("sequences", sequence, ledger.sequences),
    )
    with all_kept():
        rows = footage_rows(found, ledger, words, filters)
        if as_json:
            printing.say_json(_footage_json(rows, words, found.cut, ledger))
        else:
            _say_footage(rows, words, found.cut, ledger)


def _by(text: str) -> tuple[By, ...]:
    words = [word.strip().lower() for word in text.split(",") if word.strip()]
    known = [str(by) for by in By]
    for word in words or [text]:
        if word not in known or words.count(word) > 1:
            what = "is there twice" if word in known else "is nothing that footage is summed by"
            hint = f"Write {', '.join(known[:-1])} or {known[-1]}."
            raise WrongCall(Finding(what, hint, column="--by", value=word))
    return tuple(By(word) for word in words)


def _footage_table(
    rows: Sequence[FootageRow], by: Sequence[By], figures: Mapping[str, str], ledger: Ledger
) -> Table:
    """The footage under its codes; people have their names beside their codes."""
    headings = " ".join("person name" if word is By.PERSON else word for word in by).split()
    return tables.footage_table(
        f"Footage by {', '.join(by)}",
        [Column(key=f"by_{name}", heading=name) for name in headings],
        [tables.footage_column(key, heading) for key, heading in figures.items()],
        [(_names(row, by, ledger), row.totals) for row in rows],
        ledger.production,
    )


def _names(row: FootageRow, by: Sequence[By], ledger: Ledger) -> tuple[str, ...]:
    names: list[str] = []
    for word, code in zip(by, row.key, strict=True):
        names.append(UNKNOWN_KEY.get(word, "") if code is None else code)
        if word is By.PERSON:
            names.append(ledger.people[code or ""].credit_name)
    return tuple(names)


def _footage_json(
    rows: Sequence[FootageRow], by: Sequence[By], cut: int | None, ledger: Ledger
) -> dict[str, object]:
    in_seconds = {f"{measure}_seconds": measure for measure in MEASURES}
    printed = _footage_table(rows, by, in_seconds, ledger).printed()

    def figures(totals: FootageTotals, cells: Sequence[PrintedCell]) -> dict[str, object]:
        seconds = (float(cell.text.replace(",", "")) for cell in cells[-len(MEASURES) :])
        return {
            "character_frames": {m: str(totals.character.of(m)) for m in MEASURES},
            "shot_frames": {m: str(totals.by_shot.of(m)) for m in MEASURES},
            "seconds": dict(zip(MEASURES, seconds, strict=True)),
        }

    return {
        "by": ",".join(by),
        "measures": list(MEASURES),
        "cut": cut,
        "rows": [
            {**dict(zip(map(str, by), row.key, strict=True)), **figures(row.totals, cells)}
            for row, cells in zip(rows, printed.rows, strict=True)
        ],
        "total": figures(summed(row.totals for row in rows), printed.total),
    }


def _say_footage(
    rows: Sequence[FootageRow], by: Sequence[By], cut: int | None, ledger: Ledger
) -> None:
    """Shot footage in frames for the five measures, kept also as seconds, feet and characters."""
    if not rows:
        printing.remark("No footage: no frames are logged here yet.")
        return
    unit = "feet+frames" if ledger.production.gauge.whole_feet else "feet"
    # Beside a column of shots, the measure of that name says what it counts.
    first = {"shot": "frames shot"} if By.SHOT in by else {}
    figures = {measure: first.get(measure, measure) for measure in MEASURES} | {
        "kept_seconds": "kept seconds",
        "kept_feet": f"kept {unit}",
        "kept_character": "kept by character",
    }
    printing.say_table(_footage_table(rows, by, figures, ledger), separators=False)
    printing.remark(
        "Frames of shot footage: each frame is 1 and is divided among all who animated in it;"
        " by character each character's frames count on their own."
    )
    if cut is None:
        printing.remark(NO_CUT)


def hands(
    shot: str = argument(..., "SHOT", complete=codes("shots")),
    frame: Number = option(None, "--frame", "Only in this frame.", "N", min=1),
    character: Characters = None,
    take: Number = option(None, "--take", "Else the take that the shot means.", "N", min=1),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Who worked on a shot, directly or through a puppet."""
    ledger = read_ledger(folder_of(production))
    the_shot = fact_named("shots", shot, ledger.shots.values())
    wanted = codes_named("characters", character, ledger.characters)
    if frame is not None and frame > the_shot.length:
        what = f"shot {the_shot.code} has {the_shot.length} frames"
        hint = f"Name a frame from 1 to {the_shot.length}."
        raise WrongCall(Finding(what, hint, column="--frame", value=str(frame)))
    runs = claim_runs(ledger, [the_shot.code])
    number = take or chosen_take(ledger, runs, the_shot.code) or 1
    found = Hands(ledger, runs).runs_of_take(the_shot.code, number, wanted)
    if frame is not None:
        found = tuple(
            HandRun(frame, frame + 1, run.hands) for run in found if run.first <= frame < run.stop
        )
    if as_json:
        fields = "person craft character via puppet part entries"
        frames = [
            {
                "first": run.first,
                "last": run.stop - 1,
                "hands": [printing.fields_json(hand, fields) for hand in run.hands],
            }
            for run in found
        ]
        printing.say_json({"shot": the_shot.code, "take": number, "frames": frames})
    elif found:
        _say_hands(found, ledger)
    else:
        where = f"frame {frame} of " if frame else ""
        printing.remark(f"No work is logged for {where}{the_shot.code} take {number} yet.")


def _through(hand: Hand) -> str:
    thing = hand.part or hand.puppet
    return f"{hand.via} {thing}" if thing and hand.via in (Via.PUPPET, Via.PART) else hand.via


def _say_hands(runs: Sequence[HandRun], ledger: Ledger) -> None:
    rows = [
        (
            f"{run.first}-{run.stop - 1}" if run.stop > run.first + 1 else str(run.first),
            ledger.characters[hand.character].name,
            ledger.people[hand.person].credit_name,
            ledger.crafts[hand.craft].name,
            _through(hand),
            ", ".join(map(str, hand.entries)),
        )
        for run in runs
        for hand in run.hands
    ]
    heads = ("frames", "character", "person", "craft", "through", "entries")
    printing.table(heads, rows, in_parts=True)


NO_CUT_FOR_REACH = "No cut yet: counted over the kept frames of every shot's take."


def reach(
    person: Persons = None, production: ProductionOption = None, as_json: JsonOption = False
) -> None:
    """How much of the film each person worked on."""
    ledger, found = reach_of(folder_of(production))
    wanted = persons_named(person, ledger)
    alphabet = ledger.production.alphabet
    rows = sorted(
        (own for own in found.values() if wanted is None or own.person in wanted),
        key=lambda own: (sort_key(ledger.people[own.person].files_under, alphabet), own.person),
    )
    if as_json:
        printing.say_json({"rows": [_reach_json(own, ledger) for own in rows]})
        return
    if rows:
        printing.say_table(_reach_table(rows, ledger), separators=False)
    else:
        printing.remark("Nobody has worked on the film yet.")
    if ledger.cut is None:
        printing.remark(NO_CUT_FOR_REACH)


def _characters(own: Reach, ledger: Ledger) -> list[str]:
    return [code for code in ledger.characters if code in own.characters]


def _reach_json(own: Reach, ledger: Ledger) -> dict[str, object]:
    return {
        **printing.fields_json(own, "person frames screen_frames"),
        "seconds": float(seconds_text(own.frames, ledger.production.rate, 2)),
        "shots": own.shots,
        "characters": _characters(own, ledger),
    }


REACH_COLUMNS = (
    Column(key="person", heading="person"),
    Column(key="name", heading="name"),
    Column(key="characters", heading="characters"),
    Column(key="frames", heading="frames", unit=Unit.FRAMES),
    Column(key="screen_frames", heading="on screen", unit=Unit.FRAMES),
    Column(key="seconds", heading="seconds", unit=Unit.SECONDS, places=2),
    Column(key="feet", heading="feet", unit=Unit.FEET),
    Column(key="shots", heading="shots", unit=Unit.NUMBER),
)


def _reach_table(rows: Sequence[Reach], ledger: Ledger) -> Table:
    def cells(own: Reach) -> tuple[object, ...]:
        name, frames = ledger.people[own.person].credit_name, own.frames
        known = (own.person, name, tuple(_characters(own, ledger)))
        return (*known, frames, own.screen_frames, frames, frames, own.shots)

    scale = Scale(ledger.production.rate, ledger.production.gauge)
    return Table.of("Reach", REACH_COLUMNS, map(cells, rows), scale)
