"""The deliverables of the end credits: which format goes where, and what is said of it."""

from __future__ import annotations

import os
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from credits.cli import printing
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.editions import Edition
    from credits.exchange.credits_png import Measured
    from credits.exchange.delivery import Delivery

PITCH, RASTER = 60, "1920x1080"


class Deliverable(StrEnum):
    """The formats in which the end credits are handed on."""

    TEXT = "text"
    CSV = "csv"
    XLSX = "xlsx"
    PDF = "pdf"
    PNG = "png"
    JSON = "json"

    @property
    def suffix(self) -> str:
        """How the names of its files end."""
        return ".txt" if self is Deliverable.TEXT else f".{self.value}"

    @property
    def is_text(self) -> bool:
        """Whether it can go to standard output."""
        return self in (Deliverable.TEXT, Deliverable.CSV, Deliverable.JSON)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the call asks for. ``edition`` None: the one that the format is for."""

    made: Deliverable
    folder: Path
    edition: str | None = None
    out: str | None = None
    raster: str | None = None
    pitch: int | None = None
    cards: Path | None = None
    proof: int | None = None
    against: int | None = None


def deliver(wanted: Wanted) -> None:
    """Write one deliverable. Raises CreditsError, and has then written nothing."""
    from credits.exchange.delivery import check_target
    from credits.files import write_whole

    _refuse_what_does_not_belong(wanted)
    delivery = _delivery(wanted)
    target = _target(wanted, delivery)
    if target is not None:
        check_target(target, wanted.made.suffix)
    if wanted.cards is not None:
        _deliver_cards(wanted, delivery, wanted.cards)
        return
    content = _content(wanted, delivery)
    if target is None:
        printing.say_document(content.decode("utf-8-sig" if _to_terminal() else "utf-8"))
    else:
        write_whole(target, content)
        printing.say(str(target))
    printing.remark(delivery.caution)
    if delivery.shows_held and wanted.made is Deliverable.XLSX:
        printing.remark(
            "For the production office: the workbook names people who are not printed and what"
            " contracts say. For others write --edition crew or public."
        )


def _to_terminal() -> bool:
    import sys

    return printing.is_terminal(sys.stdout)


def _refuse_what_does_not_belong(wanted: Wanted) -> None:
    for name, value in (
        ("--raster", wanted.raster),
        ("--pitch", wanted.pitch),
        ("--cards", wanted.cards),
    ):
        if value is not None and wanted.made is not Deliverable.PNG:
            hint = "Leave it out, or write png."
            raise WrongCall(Finding(f"{wanted.made} is no picture", hint, None, name, str(value)))
    if wanted.cards is not None and wanted.out is not None:
        hint = "Call twice: once with --out, once with --cards."
        raise WrongCall(Finding("the roll and the cards go to two places", hint, None, "--cards"))
    if wanted.against is not None and wanted.made is not Deliverable.XLSX:
        hint = "Leave it out, or write xlsx; `credits roll --against` says it on the terminal."
        raise WrongCall(Finding(f"{wanted.made} tells no changes", hint, None, "--against"))
    if wanted.against is not None and wanted.proof is not None:
        hint = "Leave one of them out: changes are told of the credits as they stand."
        raise WrongCall(Finding("a proof is frozen", hint, None, "--against", str(wanted.against)))
    if wanted.out == "-" and not wanted.made.is_text:
        hint = f"Name a file, such as credits{wanted.made.suffix}."
        raise WrongCall(Finding(f"{wanted.made} is no text", hint, None, "--out", "-"))


def _edition(wanted: Wanted) -> Edition:
    from credits.editions import Edition

    usual = Edition.OFFICE if wanted.made is Deliverable.XLSX else Edition.CREW
    return usual if wanted.edition is None else Edition(wanted.edition)


def _delivery(wanted: Wanted) -> Delivery:
    from credits.cli.delivered import draft, proof

    edition = _edition(wanted)
    if wanted.proof is not None:
        return proof(wanted.folder, edition, wanted.proof)
    return draft(wanted.folder, edition, wanted.made is Deliverable.XLSX, wanted.against)


def _target(wanted: Wanted, delivery: Delivery) -> Path | None:
    """The file to write; None: standard output, or a folder of cards."""
    if wanted.cards is not None or wanted.out == "-":
        return None
    if wanted.out is not None:
        return Path(wanted.out)
    if wanted.made.is_text:
        return None
    return Path(f"{delivery.code}-credits{wanted.made.suffix}")


def _content(wanted: Wanted, delivery: Delivery) -> bytes:
    from credits.exchange.fonts import font_folders

    match wanted.made:
        case Deliverable.TEXT:
            from credits.exchange.credits_text import credits_text

            return credits_text(delivery)
        case Deliverable.CSV:
            from credits.exchange.credits_csv import credits_csv

            return credits_csv(delivery)
        case Deliverable.JSON:
            from credits.exchange.credits_json import credits_json

            return credits_json(delivery)
        case Deliverable.XLSX:
            from credits.exchange.credits_xlsx import credits_xlsx

            return credits_xlsx(delivery)
        case Deliverable.PDF:
            from credits.exchange.credits_pdf import credits_pdf

            return credits_pdf(delivery, font_folders(os.environ))
        case Deliverable.PNG:
            from credits.exchange.credits_png import roll_png

            measured = _measured(wanted, delivery)
            content = roll_png(measured)
            _say_size(measured)
            return content


def _measured(wanted: Wanted, delivery: Delivery) -> Measured:
    from credits.compute.roll import Raster
    from credits.compute.roll_room import Setting, too_small
    from credits.exchange.credits_png import measured_lines
    from credits.exchange.fonts import font_folders

    pitch = PITCH if wanted.pitch is None else wanted.pitch
    setting = Setting(Raster.parse(wanted.raster or RASTER), pitch)
    small = too_small(setting)
    if small is not None:
        printing.remark(str(small))
    return measured_lines(delivery.credits, setting, font_folders(os.environ))


def _say_size(measured: Measured) -> None:
    from credits.compute.roll import travel

    setting, lines = measured.setting, len(measured.lines)
    moved = travel(lines, setting.pitch, setting.raster)
    printing.remark(
        f"{lines:,} lines of {setting.pitch} px: {setting.raster.width} x"
        f" {lines * setting.pitch} px; in a picture of {setting.raster.text} it travels"
        f" {moved:,} px. `credits roll --length` proposes speeds."
    )


def _deliver_cards(wanted: Wanted, delivery: Delivery, folder: Path) -> None:
    from credits.exchange.card_files import write_cards
    from credits.units.rounding import decimal_text

    rows = [
        (path, decimal_text(card.seconds, 1))
        for path, card in write_cards(_measured(wanted, delivery), folder)
    ]
    printing.table(("card", "seconds to hold"), rows, numbers=1)
    printing.remark(delivery.caution)
