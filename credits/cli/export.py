"""The command export."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path

from credits.app.deliver import (
    STANDARD_OUTPUT,
    Deliverable,
    Delivered,
    DeliveryWish,
    account_for,
    asked_since,
    deliver,
)
from credits.app.spellings.sheets import SheetWish, write_sheets
from credits.cli.options import Number, ProductionOption, Text, argument, option, refuse
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.files import write_whole
from credits.formats.deliver.png import Measured
from credits.formats.standards.account import FILM
from credits.formats.standards.prov import jsonld, prov_json, prov_n
from credits.model.words import counted
from credits.store.settings import NAMES_BY, SETTINGS_NAME
from credits.units.rounding import decimal_text

WHO_MADE_WHAT = frozenset({Deliverable.PROV, Deliverable.JSONLD})
NO_CREDITS = WHO_MADE_WHAT | {Deliverable.CONFIRMATIONS}


class Form(StrEnum):
    """How W3C PROV is written down."""

    JSON = "json"
    N = "n"


def export(
    made: Deliverable = argument(
        ...,
        "FORMAT",
        "The end credits as text, csv, xlsx, pdf, png or json; who made what as prov"
        " (W3C PROV) or jsonld (schema.org); confirmations: a sheet that asks for spellings.",
    ),
    about: str = option(
        FILM,
        "--for",
        "prov, jsonld: what it is about; character=CODE or shot=CODE if it could be both.",
        "CHARACTER|SHOT|film",
        codes("characters", "shots"),
    ),
    edition: Edition | None = option(
        None,
        "--edition",
        "Who may read it; else public for prov and jsonld, office for xlsx, crew.",
        "public|crew|office",
    ),
    out: Text = option(None, "--out", "Where to; - is standard output, usual for texts.", "FILE"),
    form: Form | None = option(None, "--format", "Only prov: PROV-JSON or PROV-N.", "json|n"),
    raster: Text = option(None, "--size --raster", "png: the picture; 1920x1080.", "WxH"),
    pitch: Number = option(None, "--line-height --pitch", "png: the height of a line; 60.", "PX"),
    cards: Path | None = option(None, "--cards", "png: the cards, a new folder.", "DIR"),
    proof: Number = option(None, "--proof", "The credits of proof N; else as they stand.", "N"),
    against: Number = option(None, "--against", "xlsx: tell the changes since proof N.", "N"),
    episode: Text = option(None, "--episode", "The credits of this episode alone.", "EPISODE"),
    answer_by: Text = option(
        None,
        "--answer-by",
        "confirmations: answers are due by this day; it is kept, and check says who is late.",
        "DATE",
    ),
    each: Text = option(
        None, "--each", "confirmations: a workbook and a PDF for each person, a new folder.", "DIR"
    ),
    legal: bool = option(False, "--legal", "confirmations: with the legal names."),
    production: ProductionOption = None,
) -> None:
    """Write files for others: the credits, or who made what.

    Who made what: for a character, a shot or the film. An export holds what its edition may show;
    the public one knows no shots.
    """
    if made is not Deliverable.PROV:
        refuse({"--format": form}, f"{made} has one form", "Leave it out, or write prov.")
    if made is not Deliverable.CONFIRMATIONS:
        asks = {"--answer-by": answer_by, "--each": each, "--legal": legal or None}
        refuse(asks, f"{made} asks nobody", "Leave it out, or write confirmations.")
    wish = DeliveryWish(made, edition, out, raster, pitch, cards, proof, against, episode)
    _refuse_what_does_not_belong(wish)
    if made not in WHO_MADE_WHAT and about.strip().casefold() != FILM:
        hint = "Leave it out, or write prov or jsonld."
        refuse({"--for": about}, f"{made} is always the whole film", hint)
    folder = folder_of(production)
    if made in WHO_MADE_WHAT:
        _write_account(folder, about, wish, form)
    elif made is Deliverable.CONFIRMATIONS:
        _write_sheets(folder, SheetWish(out=out, each=each, answer_by=answer_by, legal=legal))
    else:
        if wish.proof is not None and edition is not Edition.PUBLIC:
            for finding in asked_since(folder, wish.proof):
                printing.warn(str(finding))
        _say_delivered(deliver(folder, wish), wish)


def _write_sheets(folder: Path, wish: SheetWish) -> None:
    done = write_sheets(folder, wish)
    printing.say(str(done.target))
    if wish.each is not None:
        people = counted(done.people, "person", "people")
        printing.remark(f"A workbook and a PDF each for {people}; credits load takes them back.")
    if done.answer_by is not None:
        kept = f", kept in {SETTINGS_NAME} as {NAMES_BY}" if done.is_new_day else ""
        printing.remark(f"Answers are due by {done.answer_by}{kept}.")
    if wish.legal:
        printing.warn("For the production office: the sheet holds legal names.")


def _refuse_what_does_not_belong(wish: DeliveryWish) -> None:
    """Refuse options that say nothing of what is written. Raises WrongCall."""
    made, out, against = wish.made, wish.out, {"--against": wish.against}
    if made is not Deliverable.PNG:
        pictures = {"--size": wish.raster, "--line-height": wish.pitch, "--cards": wish.cards}
        refuse(pictures, f"{made} is no picture", "Leave it out, or write png.")
    if made in NO_CREDITS:
        proofs = {"--proof": wish.proof, **against, "--episode": wish.episode}
        refuse(proofs, f"{made} has no proofs", "Leave it out, or write xlsx.")
    elif out == STANDARD_OUTPUT and not made.is_text:
        refuse({"--out": out}, f"{made} is no text", f"Name a file, such as credits{made.suffix}.")
    if made is not Deliverable.XLSX:
        hint = "Leave it out, or write xlsx; `credits roll --against` says it on the terminal."
        refuse(against, f"{made} tells no changes", hint)
    if wish.proof is not None:
        hint = "Leave one of them out: changes are told of the credits as they stand."
        refuse(against, "a proof is frozen", hint)
        refuse({"--episode": wish.episode}, "a proof is frozen", "Name the proof of the episode.")
    if wish.cards is not None and out is not None:
        hint = "Call twice: once with --out, once with --cards."
        raise WrongCall(Finding("the roll and the cards go to two places", hint, None, "--cards"))


def _say_delivered(done: Delivered, wish: DeliveryWish) -> None:
    for remark in done.remarks:
        printing.warn(str(remark))
    if done.measured is not None:
        _say_size(done.measured, wish.cards is None)
    if wish.cards is not None:
        rows = [(path, decimal_text(card.seconds, 1)) for path, card in done.cards]
        printing.table(("card", "seconds to hold"), rows, right=(1,))
    elif done.target is None:
        mark = "utf-8-sig" if printing.is_terminal(sys.stdout) else "utf-8"
        printing.say_document(done.content.decode(mark))
    else:
        printing.say(str(done.target))
    printing.warn(done.delivery.caution)
    if done.delivery.edition.sees(Edition.OFFICE) and wish.made is Deliverable.XLSX:
        printing.warn(
            "For the production office: the workbook names people who are not printed and what"
            " contracts say. For others write --edition crew or public."
        )


def _say_size(measured: Measured, rolls: bool) -> None:
    setting, lines = measured.setting, measured.lines
    if rolls:
        moved = setting.travel(lines)
        printing.remark(
            f"{lines:,} lines of {setting.pitch} px: {setting.width} x"
            f" {lines * setting.pitch} px; in a picture of {setting.raster} it travels"
            f" {moved:,} px. `credits roll --length` proposes speeds."
        )


def _write_account(folder: Path, about: str, wish: DeliveryWish, form: Form | None) -> None:
    edition, out = wish.edition or Edition.PUBLIC, wish.out
    account = account_for(folder, about, edition)
    as_prov = prov_n if form is Form.N else prov_json
    text = (jsonld if wish.made is Deliverable.JSONLD else as_prov)(account)
    if not out or out == STANDARD_OUTPUT:
        printing.say_document(text)
    else:
        write_whole(Path(out), text.encode("utf-8"))
        printing.say(f"Wrote {out}: {account.title}, {edition} edition.")
    for caution in account.cautions:
        printing.warn(caution)
