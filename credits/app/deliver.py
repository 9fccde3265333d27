"""Write the end credits as files for others: text, CSV, JSON, XLSX, PDF, PNG, cards."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

from credits.app.proofs import Against, CreditsNow, read_credits
from credits.app.speeds import PITCH, RASTER
from credits.billing.credits import Credits
from credits.billing.proof import credits_from_json
from credits.billing.roll import Card, Raster
from credits.billing.setting import RollSetting
from credits.cautions import CREDITS_CAUTION
from credits.editions import Edition
from credits.files import write_whole
from credits.formats.deliver.csv import credits_csv
from credits.formats.deliver.delivery import Delivery, check_target
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.json import credits_json
from credits.formats.deliver.pdf import credits_pdf
from credits.formats.deliver.png import Measured, measured_lines, roll_png, write_cards
from credits.formats.deliver.text import credits_text
from credits.formats.deliver.xlsx import credits_xlsx
from credits.model.facts import Production
from credits.store import open_log, read_settings

STANDARD_OUTPUT = "-"


class Deliverable(StrEnum):
    """What is written for others: the end credits, who made what, the sheet of spellings."""

    PROV = "prov"
    JSONLD = "jsonld"
    TEXT = "text"
    CSV = "csv"
    XLSX = "xlsx"
    PDF = "pdf"
    PNG = "png"
    JSON = "json"
    CONFIRMATIONS = "confirmations"

    @property
    def suffix(self) -> str:
        """How the names of its files end, for the end credits."""
        return ".txt" if self is Deliverable.TEXT else f".{self.value}"

    @property
    def is_text(self) -> bool:
        """Whether it can go to standard output, for the end credits."""
        return self in (Deliverable.TEXT, Deliverable.CSV, Deliverable.JSON)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryWish:
    """Which form of the end credits is asked for.

    edition: None: the one that the format is for.
    out: a file, or ``-`` for standard output; None: a file named after the production, or
    standard output for a text. cards: the folder to write the cards to, instead of the roll.
    """

    made: Deliverable
    edition: Edition | None = None
    out: str | None = None
    raster: str | None = None
    pitch: int | None = None
    cards: Path | None = None
    proof: int | None = None
    against: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """What was made. ``target`` None: nothing was written; ``content`` is for standard output.

    measured: the lines of a picture. cards: the cards that were written, with their files.
    """

    delivery: Delivery
    target: Path | None = None
    content: bytes = b""
    measured: Measured | None = None
    cards: tuple[tuple[Path, Card], ...] = ()


def deliver(folder: Path, wish: DeliveryWish) -> Delivered:
    """Write the end credits in one form. Raises CreditsError, and has then written nothing."""
    target = _target(wish, folder)
    if target is not None:
        check_target(target, wish.made.suffix)
    delivery = _delivery(wish, folder)
    measured = None
    if wish.made is Deliverable.PNG:
        measured = measured_lines(delivery.credits, _setting(wish), font_folders(os.environ))
        if wish.cards is not None:
            cards = tuple(write_cards(measured, wish.cards))
            return Delivered(delivery=delivery, measured=measured, cards=cards)
        content = roll_png(measured)
    else:
        content = _content(wish.made, delivery)
    if target is not None:
        write_whole(target, content)
    return Delivered(delivery=delivery, target=target, content=content, measured=measured)


def _target(wish: DeliveryWish, folder: Path) -> Path | None:
    """Return the file to write; None: standard output, or a folder of cards."""
    if wish.cards is not None or wish.out == STANDARD_OUTPUT:
        return None
    if wish.out is not None:
        return Path(wish.out)
    if wish.made.is_text:
        return None
    return Path(f"{read_settings(folder).code}-credits{wish.made.suffix}")


def _setting(wish: DeliveryWish) -> RollSetting:
    return RollSetting(
        Raster.parse(wish.raster or RASTER), PITCH if wish.pitch is None else wish.pitch
    )


def _content(made: Deliverable, delivery: Delivery) -> bytes:
    match made:
        case Deliverable.TEXT:
            return credits_text(delivery)
        case Deliverable.CSV:
            return credits_csv(delivery)
        case Deliverable.JSON:
            return credits_json(delivery)
        case Deliverable.XLSX:
            return credits_xlsx(delivery)
        case _:
            return credits_pdf(delivery, font_folders(os.environ))


def _delivery(wish: DeliveryWish, folder: Path) -> Delivery:
    is_workbook = wish.made is Deliverable.XLSX
    edition = wish.edition or (Edition.OFFICE if is_workbook else Edition.CREW)
    if wish.proof is not None:
        return proof(folder, edition, wish.proof)
    against: int | Against | None = None
    if is_workbook and edition.sees(Edition.OFFICE):
        against = Against.LAST_OTHER if wish.against is None else wish.against
    return draft(read_credits(folder, against), edition)


def draft(now: CreditsNow, edition: Edition) -> Delivery:
    """Return the credits as they stand; called by the number of the last proof when they are it.

    As in the public site, the public edition has the proof's number without its day, and the last
    day of the data without entries and cut. Changes are told where they were compared.
    """
    ledger = now.snapshot.ledger
    made = _read_delivery(ledger.production, now.credits, edition)
    made = replace(made, proof=now.same_as, day=ledger.last_day)
    if edition.sees(Edition.CREW):
        made = replace(
            made,
            saved_on=now.proofs[-1].saved_at.date() if now.same_as is not None else None,
            last_line=ledger.last_line,
            cut=ledger.cut.version if ledger.cut is not None else None,
        )
    return made if now.comparison is None else replace(made, changes=now.comparison.rows)


def proof(folder: Path, edition: Edition, number: int) -> Delivery:
    """Return the credits of a proof, as they were frozen. Raises WrongCall when there is none."""
    with open_log(folder) as log:
        frozen = log.proof(number)
    mark = frozen.mark
    made = _read_delivery(read_settings(folder), credits_from_json(frozen.content), edition)
    if not edition.sees(Edition.CREW):
        return replace(made, proof=mark.number)
    return replace(
        made,
        proof=mark.number,
        saved_on=mark.saved_at.date(),
        last_line=mark.last_line,
        cut=mark.cut,
    )


def _read_delivery(production: Production, credits: Credits, edition: Edition) -> Delivery:
    return Delivery(
        title=production.title,
        code=production.code,
        credits=credits,
        caution=CREDITS_CAUTION,
        shows_unconfirmed=edition.sees(Edition.CREW),
        shows_reasons=edition.sees(Edition.CREW),
        shows_held=edition.sees(Edition.OFFICE),
    )
