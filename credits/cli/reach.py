"""``credits reach``: how much of the film a person's hands are in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from credits.cli import printing
from credits.cli.codes import persons_named
from credits.cli.options import JsonOption, PersonsOption, ProductionOption, read_ledger

if TYPE_CHECKING:
    from credits.compute.reach import Reach
    from credits.model.ledger import Ledger

NO_CUT = "No cut yet: counted over the kept frames of every shot's take."


def reach(
    person: PersonsOption = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """How much of the film a person's hands are in."""
    from credits.compute.reach import reach as reach_of
    from credits.compute.spread import SpreadOf
    from credits.footage.claims import claim_runs
    from credits.footage.cut import use_of_cut
    from credits.names import sort_key

    ledger = read_ledger(production)
    wanted = persons_named(person, ledger)
    runs = claim_runs(ledger)
    use = use_of_cut(ledger, runs)
    every = reach_of(ledger, runs, use, SpreadOf(ledger, runs))
    rows = sorted(
        (own for own in every.values() if wanted is None or own.person in wanted),
        key=lambda own: (sort_key(ledger.people[own.person].files_under), own.person),
    )
    if as_json:
        printing.say_json({"rows": [_json(own, ledger) for own in rows]})
        return
    if rows:
        _say(rows, ledger)
    else:
        printing.remark("No hands in the film yet.")
    if use is None:
        printing.remark(NO_CUT)


def _characters(own: Reach, ledger: Ledger) -> list[str]:
    return [code for code in ledger.characters if code in own.characters]


def _json(own: Reach, ledger: Ledger) -> dict[str, object]:
    from credits.units.film_time import seconds_text

    return {
        "person": own.person,
        "frames": own.frames,
        "screen_frames": own.screen_frames,
        "seconds": float(seconds_text(own.frames, ledger.production.rate, 2)),
        "shots": own.shots,
        "characters": _characters(own, ledger),
    }


def _say(rows: list[Reach], ledger: Ledger) -> None:
    from credits.units.film_time import feet_text, seconds_text

    production = ledger.production
    headings = ("person", "name", "characters", "frames", "on screen", "seconds", "feet", "shots")
    printing.table(
        headings,
        [
            (
                own.person,
                ledger.people[own.person].credit_name,
                ", ".join(_characters(own, ledger)),
                own.frames,
                own.screen_frames,
                seconds_text(own.frames, production.rate, 2),
                feet_text(own.frames, production.gauge),
                own.shots,
            )
            for own in rows
        ],
        numbers=5,
    )
