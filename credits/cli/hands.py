"""``credits hands``: everybody whose work is in a shot, frame by frame."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import codes_named, fact_named
from credits.cli.completion import production_codes
from credits.cli.options import CharactersOption, JsonOption, ProductionOption, read_ledger
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.compute.hands import Hand, HandRun
    from credits.model.ledger import Ledger


def hands(
    shot: Annotated[str, typer.Argument(metavar="SHOT", autocompletion=production_codes("shots"))],
    frame: Annotated[
        int | None, typer.Option("--frame", metavar="N", min=1, help="Only in this frame.")
    ] = None,
    character: CharactersOption = None,
    take: Annotated[
        int | None,
        typer.Option("--take", metavar="N", min=1, help="Else the take that the shot means."),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Whose hands are in a shot, directly or by way of a puppet."""
    from credits.compute.hands import HandsOf
    from credits.footage.claims import claim_runs
    from credits.footage.cut import chosen_take

    ledger = read_ledger(production)
    the_shot = fact_named("shots", shot, ledger.shots.values())
    wanted = codes_named("characters", character, ledger.characters)
    if frame is not None and frame > the_shot.length:
        what = f"shot {the_shot.code} has {the_shot.length} frames"
        hint = f"Name a frame from 1 to {the_shot.length}."
        raise WrongCall(Finding(what, hint, column="--frame", value=str(frame)))
    runs = claim_runs(replace(ledger, shots={the_shot.code: the_shot}))  # no other take is asked
    number = take or chosen_take(ledger, runs, the_shot.code) or 1
    found = _narrowed(HandsOf(ledger, runs).of_take(the_shot.code, number), frame, wanted)
    if as_json:
        printing.say_json(
            {"shot": the_shot.code, "take": number, "frames": [_run_json(run) for run in found]}
        )
    elif found:
        _say(found, ledger)
    else:
        where = f"frame {frame} of " if frame else ""
        printing.remark(f"Nobody has claimed {where}{the_shot.code} take {number} yet.")


def _narrowed(
    runs: tuple[HandRun, ...], frame: int | None, characters: frozenset[str] | None
) -> list[HandRun]:
    """The runs with that frame and those characters alone, without those that hold no hands."""
    from credits.compute.hands import HandRun

    found: list[HandRun] = []
    for run in runs:
        first, stop = run.first, run.stop
        if frame is not None:
            if not first <= frame < stop:
                continue
            first, stop = frame, frame + 1
        kept = tuple(h for h in run.hands if characters is None or h.character in characters)
        if kept and found and found[-1].stop == first and found[-1].hands == kept:
            found[-1] = HandRun(found[-1].first, stop, kept)
        elif kept:
            found.append(HandRun(first, stop, kept))
    return found


def _run_json(run: HandRun) -> dict[str, object]:
    return {
        "first": run.first,
        "last": run.stop - 1,
        "hands": [_hand_json(hand) for hand in run.hands],
    }


def _hand_json(hand: Hand) -> dict[str, object]:
    return {
        "person": hand.person,
        "craft": hand.craft,
        "character": hand.character,
        "via": str(hand.via),
        "puppet": hand.puppet,
        "part": hand.part,
        "entries": [str(number) for number in hand.entries],
    }


def _say(runs: list[HandRun], ledger: Ledger) -> None:
    rows = []
    for run in runs:
        frames = str(run.first) if run.stop == run.first + 1 else f"{run.first}-{run.stop - 1}"
        for hand in run.hands:
            thing = hand.part or hand.puppet
            via = (
                f"{hand.via} {thing}" if thing and str(hand.via) in ("puppet", "part") else hand.via
            )
            rows.append(
                (
                    frames,
                    ledger.characters[hand.character].name,
                    ledger.people[hand.person].credit_name,
                    ledger.crafts[hand.craft].name,
                    via,
                    ", ".join(map(str, hand.entries)),
                )
            )
    printing.parts(("frames", "character", "person", "craft", "by way of", "entries"), rows)
