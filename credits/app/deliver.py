"""Write files for others: the end credits, who made what as open standards, reviews."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import NamedTuple

from credits.app.end_credits.credits import Against, CreditsNow, read_credits, sealed_proof
from credits.app.figures import read_ledger
from credits.app.production import kept_snapshot, open_snapshot
from credits.app.review import MadeReview
from credits.app.work.named import Coded, like_ones, of_code
from credits.billing.proofs import credits_from_json
from credits.billing.setting.roll import RollSetting
from credits.billing.setting.rows import Card
from credits.cautions import REVIEW_CAUTION
from credits.editions import Edition
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.renewal import Depth
from credits.files import write_whole
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.logos import read_logos
from credits.formats.deliver.pdf import printed_proof
from credits.formats.deliver.plain import (
    Delivery,
    check_target,
    credits_csv,
    credits_json,
    credits_text,
)
from credits.formats.deliver.png import Measured, measured_lines, roll_png, write_cards
from credits.formats.deliver.review import ReviewSheet, review_csv, review_pdf
from credits.formats.deliver.xlsx import credits_xlsx, refuse_other_workbook
from credits.formats.standards.account import CHARACTER, FILM, SHOT, Account, Thing, account_of
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.review.shown import period_text, shown_review
from credits.site.links import Frame, file_name
from credits.site.pages.footage import ReviewPage, ReviewPages
from credits.site.paper import style_sheet
from credits.site.publish import publish
from credits.site.render import rendered
from credits.site.source import PageSource
from credits.store.log import open_log
from credits.store.settings import read_settings

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
    episode: str | None = None


class Delivered(NamedTuple):
    """What was made. ``target`` None: nothing was written; ``content`` is for standard output.

    measured: the lines of a picture. cards: the cards that were written, with their files.
    remarks: what is set otherwise than asked for.
    """

    delivery: Delivery
    target: Path | None = None
    content: bytes = b""
    measured: Measured | None = None
    cards: tuple[tuple[Path, Card], ...] = ()
    remarks: tuple[Finding, ...] = ()


def asked_since(folder: Path, number: int) -> tuple[Finding, ...]:
    """Find who stands in a proof and has asked since then not to be named.

    Raises WrongCall for the number of a proof that was never made.
    """
    with open_log(folder) as log:
        credits = credits_from_json(sealed_proof(log, number).content)
    ledger = read_ledger(folder)
    found: dict[str, tuple[str, list[str]]] = {}
    for section in credits.sections:
        for line in section.lines:
            person = ledger.people.get(ledger.one_person.get(line.person, line.person))
            if person is not None and person.wish is CreditWish.UNCREDITED:
                found.setdefault(person.code, (line.name, []))[1].append(section.heading)
    hint = "Save a new proof with `credits roll --save`, and export that one."
    return tuple(
        Finding(
            f"stands in proof {number} under {', '.join(filter(None, dict.fromkeys(headings)))}, "
            "and has since asked not to be named",
            hint,
            value=f"{name} ({code})",
        )
        for code, (name, headings) in found.items()
    )


def deliver(folder: Path, wish: DeliveryWish) -> Delivered:
    """Write the end credits in one form. Raises CreditsError, and has then written nothing.

    A proof with somebody who has since asked not to be named is not written for the public.
    """
    is_public = wish.edition is Edition.PUBLIC
    if is_public and wish.proof is not None and (since := asked_since(folder, wish.proof)):
        raise ProblemsFound(*since)
    target = _target(wish, folder)
    if target is not None:
        check_target(target, wish.made.suffix)
    delivery = _delivery(wish, folder)
    measured, fonts = None, font_folders(os.environ)
    remarks: tuple[Finding, ...] = ()
    if wish.made is Deliverable.PNG:
        setting = RollSetting.parse(wish.raster, wish.pitch)
        logos = read_logos(folder, delivery.credits)
        measured = measured_lines(delivery.credits, setting, fonts, logos)
        if wish.cards is not None:
            cards = tuple(write_cards(measured, wish.cards))
            return Delivered(
                delivery=delivery, measured=measured, cards=cards, remarks=measured.remarks
            )
        content = roll_png(measured)
    elif wish.made is Deliverable.PDF:
        content, remarks = printed_proof(delivery, fonts, read_logos(folder, delivery.credits))
    else:
        content = CONTENT[wish.made](delivery)
    if target is not None:
        if wish.made is Deliverable.XLSX:
            refuse_other_workbook(target, content)
        write_whole(target, content)
    if measured is not None:
        remarks = measured.remarks
    return Delivered(
        delivery=delivery, target=target, content=content, measured=measured, remarks=remarks
    )


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
    """Return the credits that are asked for, cut to an edition.

    As in the public site, the public edition has the proof's number without its day, and the last
    day of the data without entries and cut.
    """
    is_workbook = wish.made is Deliverable.XLSX
    edition = wish.edition or (Edition.OFFICE if is_workbook else Edition.CREW)
    against: int | Against | None = None
    if is_workbook and edition.sees(Edition.OFFICE):
        against = "last other" if wish.against is None else wish.against
    if wish.proof is not None:
        made = _frozen(folder, wish.proof)
    else:
        made = _as_they_stand(read_credits(folder, against, wish.episode))
    made = replace(made, edition=edition)
    if edition.sees(Edition.OFFICE):
        return made
    # A seal is made of everything, of who is not printed too: who has the rest could try out names.
    made = replace(made, seal="", log_seal="")
    if edition.sees(Edition.CREW):
        return made
    return replace(made, saved_on=None, last_line=None, cut=None)


def _as_they_stand(now: CreditsNow) -> Delivery:
    """Return the credits as they stand; called by the number of the last proof when they are it."""
    ledger = now.snapshot.ledger
    return Delivery(
        title=now.snapshot.credits.called,
        credits=now.snapshot.credits,
        proof=now.same_as,
        saved_on=now.proofs[-1].saved_at.date() if now.same_as is not None else None,
        day=ledger.last_day,
        last_line=ledger.last_line,
        cut=ledger.cut.version if ledger.cut is not None else None,
        changes=now.comparison.rows if now.comparison is not None else None,
        seal=(now.proofs[-1].seal or "") if now.same_as is not None else "",
        log_seal=now.log_seal,
    )


def _frozen(folder: Path, number: int) -> Delivery:
    """Return the credits of a proof, as they were frozen. Raises WrongCall when there is none."""
    with open_log(folder) as log:
        proof, log_seal = sealed_proof(log, number), log.log_seal(number)
    mark = proof.mark
    credits = credits_from_json(proof.content)
    return Delivery(
        title=credits.called or read_settings(folder).title,
        credits=credits,
        proof=mark.number,
        saved_on=mark.saved_at.date(),
        last_line=mark.last_line,
        cut=mark.cut,
        seal=mark.seal or "",
        log_seal=log_seal,
    )


def account_for(folder: Path, about: str, edition: Edition) -> Account:
    """Return who made what, cut to an edition.

    about: ``film``, or the code of a character or a shot. Raises WrongCall.
    """
    snapshot = open_snapshot(folder)
    scope = scope_named(about, snapshot.ledger)
    if scope[0] == SHOT and edition is Edition.PUBLIC:
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


def scope_named(text: str, ledger: Ledger) -> Thing:
    """Find the film, or the character or shot of this code, without regard to case.

    ``character=CODE`` and ``shot=CODE`` say which is meant. Raises WrongCall.
    """
    tables: dict[str, Iterable[Coded]] = {
        CHARACTER: ledger.characters.values(),
        SHOT: ledger.shots.values(),
    }
    wanted = text.strip()
    kind, equals, code = wanted.partition("=")
    if equals and kind in tables:
        tables, wanted = {kind: tables[kind]}, code
    elif wanted.casefold() == FILM:
        return FILM, ledger.production.code
    found = {kind: of_code(wanted, facts) for kind, facts in tables.items()}
    scopes = [(kind, fact.code) for kind, fact in found.items() if fact is not None]
    if not scopes:
        what = "no character and no shot has this code"
        known: list[Coded] = [*ledger.characters.values(), *ledger.shots.values()]
        hint = like_ones(wanted, known) or "See `credits find`."
        raise WrongCall(Finding(what, hint, None, "--for", text))
    if len(scopes) > 1:
        hint = f"Write {' or '.join(f'{kind}={code}' for kind, code in scopes)}."
        raise WrongCall(Finding("is a character and a shot", hint, None, "--for", text))
    return scopes[0]


FOR_WHOM = "Review of one person: for this person and the production office only"


def _sheet(made: MadeReview, page: ReviewPage, data: str) -> ReviewSheet:
    review, ledger = made.review, made.ledger
    shown = shown_review(review, ledger)
    return ReviewSheet(
        film=ledger.production.title,
        name=ledger.people[review.person].credit_name,
        period=page.period,
        data=data,
        caution=REVIEW_CAUTION,
        shown=replace(shown, waits=page.waits or shown.waits),
        expectation=made.shown_expectation,
    )


def _html(made: MadeReview, page: ReviewPage, data: str) -> bytes:
    ledger = made.ledger
    name, film = ledger.people[made.review.person].credit_name, ledger.production.title
    frame = Frame(
        title=f"Review: {name} – {film}",
        film=film,
        root="",
        nav=(),
        edition=f"{FOR_WHOM}. {period_text(made.review.period)}",
        as_of=data,
        crew=True,
        office=True,
    )
    return rendered("pack/review.html", frame=frame, page=page).encode("utf-8")


def write_pack(made: MadeReview, out: str) -> tuple[str, ...]:
    """Write the pack into a folder that then holds it and nothing else; the names of its files.

    A new folder is its user's alone. Raises WrongCall for a folder with other things in it,
    CreditsError.
    """
    folder = Path(out).resolve()
    name = f"review-{file_name(made.review.person)}"
    if folder.is_dir() and any(folder.iterdir()) and not (folder / f"{name}.html").is_file():
        what = "holds something else than a pack of this person; writing would remove it"
        hint = "Name an empty or new folder: a pack holds one person alone."
        raise WrongCall(Finding(what, hint, column="--out", value=str(folder)))
    source = PageSource(kept_snapshot(made.file, Depth.FOOTAGE), Edition.OFFICE)
    page = ReviewPages(source, linked=False).page(made.review)
    sheet = _sheet(made, page, source.as_of)
    files = (
        (f"{name}.html", _html(made, page, source.as_of)),
        (f"{name}.pdf", review_pdf(sheet, font_folders(os.environ))),
        (f"{name}.csv", review_csv(made.review, made.ledger.production, REVIEW_CAUTION)),
        ("style.css", style_sheet(made.ledger.production.title, FOR_WHOM, source.as_of)),
    )
    publish(folder, files, shared=False)
    return tuple(name for name, _ in files)
