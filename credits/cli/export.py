"""The command export."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from credits.app.confirmations import write_sheet
from credits.app.deliver import STANDARD_OUTPUT, Deliverable, Delivered, DeliveryWish, deliver
from credits.app.standards import FILM, account_of
from credits.billing.roll import travel
from credits.billing.setting import too_small
from credits.cli import printing
from credits.cli.options import ProductionOption
from credits.cli.production import folder_of, production_codes
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.files import write_whole
from credits.formats.deliver.png import Measured
from credits.formats.standards.jsonld import jsonld
from credits.formats.standards.prov import prov_json, prov_n
from credits.units.rounding import decimal_text


class Standard(StrEnum):
    """What is written: open standards, and the deliverables of the end credits."""

    PROV = "prov"
    JSONLD = "jsonld"
    TEXT = "text"
    CSV = "csv"
    XLSX = "xlsx"
    PDF = "pdf"
    PNG = "png"
    JSON = "json"
    CONFIRMATIONS = "confirmations"


OPEN_STANDARDS = frozenset({Standard.PROV, Standard.JSONLD})
NO_CREDITS = OPEN_STANDARDS | {Standard.CONFIRMATIONS}


class Form(StrEnum):
    """How W3C PROV is written down."""

    JSON = "json"
    N = "n"


def export(
    standard: Annotated[
        Standard,
        typer.Argument(
            metavar="FORMAT",
            help="The end credits as text, csv, xlsx, pdf, png or json; who made what as prov"
            " (W3C PROV) or jsonld (schema.org); confirmations: a sheet that asks for spellings.",
        ),
    ],
    about: Annotated[
        str,
        typer.Option(
            "--for",
            metavar="CHARACTER|SHOT|film",
            help="prov, jsonld: what it is about; character=CODE or shot=CODE if it could be both.",
            autocompletion=production_codes("characters", "shots"),
        ),
    ] = FILM,
    edition: Annotated[
        Edition | None,
        typer.Option(
            "--edition",
            metavar="public|crew|office",
            help="Who may read it; else public for prov and jsonld, office for xlsx, crew.",
        ),
    ] = None,
    out: Annotated[
        str | None,
        typer.Option(
            "--out", metavar="FILE", help="Where to; - is standard output, usual for texts."
        ),
    ] = None,
    form: Annotated[
        Form | None,
        typer.Option("--format", metavar="json|n", help="Only prov: PROV-JSON or PROV-N."),
    ] = None,
    raster: Annotated[
        str | None, typer.Option("--raster", metavar="WxH", help="png: the picture; 1920x1080.")
    ] = None,
    pitch: Annotated[
        int | None, typer.Option("--pitch", metavar="PX", help="png: the height of a line; 60.")
    ] = None,
    cards: Annotated[
        Path | None, typer.Option("--cards", metavar="DIR", help="png: the cards, a new folder.")
    ] = None,
    proof: Annotated[
        int | None,
        typer.Option("--proof", metavar="N", help="The credits of proof N; else as they stand."),
    ] = None,
    against: Annotated[
        int | None,
        typer.Option("--against", metavar="N", help="xlsx: tell the changes since proof N."),
    ] = None,
    production: ProductionOption = None,
) -> None:
    """Write files for others: the credits, or who made what.

    Who made what: for a character, a shot or the film. An export holds what its edition may show;
    the public one knows no shots.
    """
    if form is not None and standard is not Standard.PROV:
        hint = "Leave it out, or write prov."
        raise WrongCall(Finding(f"{standard} has one form", hint, column="--format", value=form))
    if standard in NO_CREDITS:
        pictures = {"--raster": raster, "--pitch": pitch, "--cards": cards}
        _refuse(standard, "is no picture", "png", pictures)
        _refuse(standard, "has no proofs", "xlsx", {"--proof": proof, "--against": against})
    if standard in OPEN_STANDARDS:
        folder = folder_of(production)
        _write_account(folder, about, edition or Edition.PUBLIC, out, standard, form)
        return
    if about.strip().casefold() != FILM:
        hint = "Leave it out, or write prov or jsonld."
        raise WrongCall(Finding(f"{standard} is always the whole film", hint, None, "--for", about))
    folder = folder_of(production)
    if standard is Standard.CONFIRMATIONS:
        printing.say(str(write_sheet(folder, out)))
        return
    wish = DeliveryWish(
        made=Deliverable(standard.value),
        edition=edition,
        out=out,
        raster=raster,
        pitch=pitch,
        cards=cards,
        proof=proof,
        against=against,
    )
    _say_delivered(deliver(folder, wish), wish)


def _refuse(standard: Standard, why: str, instead: str, options: Mapping[str, object]) -> None:
    for name, value in options.items():
        if value is not None:
            hint = f"Leave it out, or write {instead}."
            raise WrongCall(Finding(f"{standard} {why}", hint, None, name, str(value)))


def _say_delivered(done: Delivered, wish: DeliveryWish) -> None:
    if done.measured is not None:
        _say_size(done.measured, wish.cards is None)
    if wish.cards is not None:
        rows = [(path, decimal_text(card.seconds, 1)) for path, card in done.cards]
        printing.table(("card", "seconds to hold"), rows, numbers=1)
    elif done.target is None:
        mark = "utf-8-sig" if printing.is_terminal(sys.stdout) else "utf-8"
        printing.say_document(done.content.decode(mark))
    else:
        printing.say(str(done.target))
    printing.remark(done.delivery.caution)
    if done.delivery.shows_held and wish.made is Deliverable.XLSX:
        printing.remark(
            "For the production office: the workbook names people who are not printed and what"
            " contracts say. For others write --edition crew or public."
        )


def _say_size(measured: Measured, rolls: bool) -> None:
    setting, lines = measured.setting, len(measured.lines)
    small = too_small(setting)
    if small is not None:
        printing.remark(str(small))
    if rolls:
        moved = travel(lines, setting.pitch, setting.raster)
        printing.remark(
            f"{lines:,} lines of {setting.pitch} px: {setting.raster.width} x"
            f" {lines * setting.pitch} px; in a picture of {setting.raster.text} it travels"
            f" {moved:,} px. `credits roll --length` proposes speeds."
        )


def _write_account(
    folder: Path,
    about: str,
    edition: Edition,
    out: str | None,
    standard: Standard,
    form: Form | None,
) -> None:
    account = account_of(folder, about, edition)
    if standard is Standard.JSONLD:
        text = jsonld(account)
    else:
        text = prov_n(account) if form is Form.N else prov_json(account)
    if out in (None, "", STANDARD_OUTPUT):
        printing.say_document(text)
    else:
        write_whole(Path(str(out)), text.encode("utf-8"))
        printing.say(f"Wrote {out}: {account.title}, {edition} edition.")
    for caution in account.cautions:
        printing.remark(caution)
