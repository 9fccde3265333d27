"""Checks of the current cut: what it names, and who is heard in it."""

from __future__ import annotations

from collections.abc import Iterator

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known
from credits.model.facts import Decision, Purpose
from credits.model.ledger import Ledger
from credits.units.frames import Frames


def cut_shots_unknown(known: Known) -> Iterator[Case]:
    """Shots that the cut names and the log does not have, each once. No name is no shot."""
    cut = known.ledger.cut
    if cut is None:
        return
    named: dict[str, list[int]] = {}
    for clip in cut.clips:
        if clip.shot and clip.shot not in known.ledger.shots:
            named.setdefault(clip.shot, []).append(clip.film_first)
    for shot, places in named.items():
        yield Case(
            (("shot", shot),),
            f"The cut (version {cut.version}) uses shot {shot} "
            f"{words.counted(len(places), 'time')}, first at film frame {min(places)}, and the "
            "log has no such shot.",
            "Add it to the shots table and load it; or, if the editors call a known shot by this "
            "name, bring the cut in again: credits cut FILE --shot-pattern REGEX",
        )


def _accepted(ledger: Ledger, shot: str) -> list[str]:
    return [
        str(take.number)
        for take in ledger.takes_of.get(shot, ())
        if take.decision is Decision.ACCEPTED
    ]


def _not_accepted(ledger: Ledger, shot: str, number: int, used: Frames) -> Case:
    take = ledger.take(shot, number)
    purpose = "" if take.purpose is Purpose.SHOOT else f" a {take.purpose} and"
    accepted = _accepted(ledger, shot)
    instead = f"; accepted is take {words.listed(accepted)}" if accepted else ""
    decision = {Decision.OPEN: "still open", Decision.RETAKE: "to be shot again"}
    return Case(
        (("shot", shot), ("take", str(number))),
        f"The cut uses {words.frames(used)} of {words.take(shot, number)}, which is{purpose} "
        f"{decision[take.decision]}{instead}.",
        "Ask which take was accepted; set its decision to accepted in the takes table and load "
        "it again, or ask the editors for the accepted take.",
    )


def cut_takes_not_accepted(known: Known) -> Iterator[Case]:
    """Takes that the cut uses and whose decision is not accepted."""
    if known.use is None:
        return
    for (shot, number), used in known.use.used.items():
        if used and known.ledger.take(shot, number).decision is not Decision.ACCEPTED:
            yield _not_accepted(known.ledger, shot, number, used)


def nobody_voices(known: Known) -> Iterator[Case]:
    """Characters that appear in the cut without a voice entry and are not marked silent."""
    ledger = known.ledger
    for code in known.credits.order_of_appearance:
        own = ledger.entries_by_character.get(code, ())
        if ledger.characters[code].silent or any(entry.craft == "voice" for entry in own):
            continue
        yield Case(
            (("character", code),),
            f"{words.character(ledger, code)} is in the cut, and nobody voices this character.",
            "Set silent to yes in the characters table and load it again; or ask who it is, then: "
            f"credits log voice PERSON {words.typed(code)}",
        )
