"""Write files for others: the end credits in many forms; who made what as open standards."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import NamedTuple

from credits.app.credits import Against, CreditsNow, read_credits, setting_of
from credits.app.named import Coded, like_ones, of_code
from credits.app.production import open_snapshot
from credits.billing.credits import Credits
from credits.billing.proof import credits_from_json
from credits.billing.roll import Card
from credits.cautions import CREDITS_CAUTION
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.files import write_whole
from credits.formats.deliver.delivery import Delivery, check_target
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.pdf import credits_pdf
from credits.formats.deliver.plain import credits_csv, credits_json, credits_text
from credits.formats.deliver.png import Measured, measured_lines, roll_png, write_cards
from credits.formats.deliver.xlsx import credits_xlsx
from credits.formats.standards.account import About, Account, Scope, account_of
from credits.model.facts import Production
from credits.model.ledger import Ledger
from credits.site.source import PageSource
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


CONTENT = {
    Deliverable.TEXT: credits_text,
    Deliverable.CSV: credits_csv,
    Deliverable.JSON: credits_json,
    Deliverable.XLSX: credits_xlsx,
}


class DeliveryWish(NamedTuple):
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


class Delivered(NamedTuple):
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
    measured, fonts = None, font_folders(os.environ)
    if wish.made is Deliverable.PNG:
        measured = measured_lines(delivery.credits, setting_of(wish.raster, wish.pitch), fonts)
        if wish.cards is not None:
            cards = tuple(write_cards(measured, wish.cards))
            return Delivered(delivery=delivery, measured=measured, cards=cards)
        content = roll_png(measured)
    elif wish.made is Deliverable.PDF:
        content = credits_pdf(delivery, fonts)
    else:
        content = CONTENT[wish.made](delivery)
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


def _delivery(wish: DeliveryWish, folder: Path) -> Delivery:
    is_workbook = wish.made is Deliverable.XLSX
    edition = wish.edition or (Edition.OFFICE if is_workbook else Edition.CREW)
    if wish.proof is not None:
        return _frozen(folder, edition, wish.proof)
    against: int | Against | None = None
    if is_workbook and edition.sees(Edition.OFFICE):
        against = Against.LAST_OTHER if wish.against is None else wish.against
    return _as_they_stand(read_credits(folder, against), edition)


def _as_they_stand(now: CreditsNow, edition: Edition) -> Delivery:
    """Return the credits as they stand; called by the number of the last proof when they are it.

    As in the public site, the public edition has the proof's number without its day, and the last
    day of the data without entries and cut. Changes are told where they were compared.
    """
    ledger = now.snapshot.ledger
    made = _read_delivery(ledger.production, now.credits, edition, now.same_as)
    made = replace(made, day=ledger.last_day)
    if edition.sees(Edition.CREW):
        made = replace(
            made,
            saved_on=now.proofs[-1].saved_at.date() if now.same_as is not None else None,
            last_line=ledger.last_line,
            cut=ledger.cut.version if ledger.cut is not None else None,
        )
    return made if now.comparison is None else replace(made, changes=now.comparison.rows)


def _frozen(folder: Path, edition: Edition, number: int) -> Delivery:
    """Return the credits of a proof, as they were frozen. Raises WrongCall when there is none."""
    with open_log(folder) as log:
        proof = log.proof(number)
    mark, credits = proof.mark, credits_from_json(proof.content)
    made = _read_delivery(read_settings(folder), credits, edition, mark.number)
    if not edition.sees(Edition.CREW):
        return made
    return replace(made, saved_on=mark.saved_at.date(), last_line=mark.last_line, cut=mark.cut)


def _read_delivery(
    production: Production, credits: Credits, edition: Edition, proof: int | None
) -> Delivery:
    return Delivery(
        title=production.title,
        code=production.code,
        credits=credits,
        caution=CREDITS_CAUTION,
        shows_unconfirmed=edition.sees(Edition.CREW),
        shows_reasons=edition.sees(Edition.CREW),
        shows_held=edition.sees(Edition.OFFICE),
        proof=proof,
    )


FILM = "film"


def account_for(folder: Path, about: str, edition: Edition) -> Account:
    """Return who made what, cut to an edition.

    about: ``film``, or the code of a character or a shot. Raises WrongCall.
    """
    snapshot = open_snapshot(folder)
    scope = scope_named(about, snapshot.ledger)
    if scope.about is About.SHOT and edition is Edition.PUBLIC:
        hint = "Write --edition crew, or name a character."
        raise WrongCall(Finding("the public edition shows no shots", hint, None, "--for", about))
    source = PageSource(snapshot, edition)
    return account_of(
        snapshot,
        scope,
        edition,
        named=source.named,
        puppet_name=lambda code: source.puppet(code).text,
        as_of=source.as_of,
    )


def scope_named(text: str, ledger: Ledger) -> Scope:
    """Find the film, or the character or shot of this code, without regard to case.

    ``character=CODE`` and ``shot=CODE`` say which is meant. Raises WrongCall.
    """
    tables: dict[str, Iterable[Coded]] = {
        About.CHARACTER: ledger.characters.values(),
        About.SHOT: ledger.shots.values(),
    }
    wanted = text.strip()
    kind, equals, code = wanted.partition("=")
    if equals and kind in tables:
        tables, wanted = {kind: tables[kind]}, code
    elif wanted.casefold() == FILM:
        return Scope(About.FILM, ledger.production.code)
    found = {kind: of_code(wanted, facts) for kind, facts in tables.items()}
    scopes = [Scope(About(kind), fact.code) for kind, fact in found.items() if fact is not None]
    if not scopes:
        what = "no character and no shot has this code"
        known: list[Coded] = [*ledger.characters.values(), *ledger.shots.values()]
        hint = like_ones(wanted, known) or "See `credits find`."
        raise WrongCall(Finding(what, hint, None, "--for", text))
    if len(scopes) > 1:
        hint = f"Write {' or '.join(f'{scope.about}={scope.code}' for scope in scopes)}."
        raise WrongCall(Finding("is a character and a shot", hint, None, "--for", text))
    return scopes[0]
