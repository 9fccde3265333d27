"""The command export."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from credits.app import changes_since, proof_number, read_credits, read_ledger, results_of
from credits.billing.credits import Credits
from credits.billing.proof import credits_from_json
from credits.billing.roll import Raster, travel
from credits.billing.setting import RollSetting, too_small
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.codes import Coded, folder_of, production_codes, spellings, with_name
from credits.cli.options import ProductionOption
from credits.cli.plan import write_sheet
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.files import write_whole
from credits.formats.deliver.csv import credits_csv
from credits.formats.deliver.delivery import Delivery, check_target
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.json import credits_json
from credits.formats.deliver.pdf import credits_pdf
from credits.formats.deliver.png import Measured, measured_lines, roll_png, write_cards
from credits.formats.deliver.text import credits_text
from credits.formats.deliver.xlsx import credits_xlsx
from credits.formats.standards.account import About, Account, Scope, account_of
from credits.formats.standards.jsonld import jsonld
from credits.formats.standards.prov import prov_json, prov_n
from credits.formats.tables.cells import stripped
from credits.model.facts import ProofMark
from credits.model.ledger import Ledger
from credits.site.source import page_source
from credits.site.whole_site import as_of
from credits.store import open_log
from credits.text import fold_code, nearest
from credits.units.rounding import decimal_text

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

    usual = Edition.OFFICE if wanted.made is Deliverable.XLSX else Edition.CREW
    return usual if wanted.edition is None else Edition(wanted.edition)


def _delivery(wanted: Wanted) -> Delivery:

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

    match wanted.made:
        case Deliverable.TEXT:
            return credits_text(delivery)
        case Deliverable.CSV:
            return credits_csv(delivery)
        case Deliverable.JSON:
            return credits_json(delivery)
        case Deliverable.XLSX:
            return credits_xlsx(delivery)
        case Deliverable.PDF:
            return credits_pdf(delivery, font_folders(os.environ))
        case Deliverable.PNG:
            measured = _measured(wanted, delivery)
            content = roll_png(measured)
            _say_size(measured)
            return content


def _measured(wanted: Wanted, delivery: Delivery) -> Measured:

    pitch = PITCH if wanted.pitch is None else wanted.pitch
    setting = RollSetting(Raster.parse(wanted.raster or RASTER), pitch)
    small = too_small(setting)
    if small is not None:
        printing.remark(str(small))
    return measured_lines(delivery.credits, setting, font_folders(os.environ))


def _say_size(measured: Measured) -> None:

    setting, lines = measured.setting, len(measured.lines)
    moved = travel(lines, setting.pitch, setting.raster)
    printing.remark(
        f"{lines:,} lines of {setting.pitch} px: {setting.raster.width} x"
        f" {lines * setting.pitch} px; in a picture of {setting.raster.text} it travels"
        f" {moved:,} px. `credits roll --length` proposes speeds."
    )


def _deliver_cards(wanted: Wanted, delivery: Delivery, folder: Path) -> None:

    rows = [
        (path, decimal_text(card.seconds, 1))
        for path, card in write_cards(_measured(wanted, delivery), folder)
    ]
    printing.table(("card", "seconds to hold"), rows, numbers=1)
    printing.remark(delivery.caution)


def draft(
    folder: Path, edition: Edition, with_changes: bool = False, against: int | None = None
) -> Delivery:
    """The credits as they stand; called by the number of the last proof when they are that proof.

    As in the public site, the public edition has the proof's number without its day, and the last
    day of the data without entries and cut.

    ``with_changes``: what changed since proof ``against``, or since the one before these credits.
    Raises WrongCall for a proof that was never made.
    """

    ledger, credits = read_credits(folder)
    with open_log(folder) as log:
        marks = log.proofs()
    number = proof_number(folder, ledger, credits)
    made = replace(_read_delivery(ledger, credits, edition), proof=number, day=ledger.last_day)
    if edition.sees(Edition.CREW):
        made = replace(
            made,
            saved_on=marks[-1].saved_at.date() if number is not None else None,
            last_line=ledger.last_line,
            cut=ledger.cut.version if ledger.cut is not None else None,
        )
    if with_changes and edition.sees(Edition.OFFICE):
        changes = _changes(folder, ledger, credits, marks[:-1] if number else marks, against)
        made = replace(made, changes=changes)
    return made


def proof(folder: Path, edition: Edition, number: int) -> Delivery:
    """The credits of a proof, as they were frozen. Raises WrongCall when there is none of it."""

    with open_log(folder) as log:
        frozen = log.proof(number)
    mark = frozen.mark
    made = _read_delivery(read_ledger(folder), credits_from_json(frozen.content), edition)
    if not edition.sees(Edition.CREW):
        return replace(made, proof=mark.number)
    return replace(
        made,
        proof=mark.number,
        saved_on=mark.saved_at.date(),
        last_line=mark.last_line,
        cut=mark.cut,
    )


def _changes(
    folder: Path,
    ledger: Ledger,
    credits: Credits,
    marks: Sequence[ProofMark],
    against: int | None,
) -> tuple[tuple[str, str, str], ...] | None:

    if against is None:
        if not marks:
            return None
        against = marks[-1].number
    compared = changes_since(folder, ledger, credits, against)
    return compared.rows if compared is not None else None


def _read_delivery(ledger: Ledger, credits: Credits, edition: Edition) -> Delivery:

    return Delivery(
        title=ledger.production.title,
        code=ledger.production.code,
        credits=credits,
        caution=CREDITS_CAUTION,
        shows_unconfirmed=edition.sees(Edition.CREW),
        shows_reasons=edition.sees(Edition.CREW),
        shows_held=edition.sees(Edition.OFFICE),
    )


STANDARD_OUTPUT = "-"
FILM = "film"


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


class Form(StrEnum):
    """How W3C PROV is written down."""

    JSON = "json"
    N = "n"


class For(StrEnum):
    """The edition that an export is cut to."""

    PUBLIC = "public"
    CREW = "crew"
    OFFICE = "office"


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
        For | None,
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
    if standard in OPEN_STANDARDS:
        pictures = {"--raster": raster, "--pitch": pitch, "--cards": cards}
        _refuse(standard, "is no picture", "png", pictures)
        _refuse(standard, "has no proofs", "xlsx", {"--proof": proof, "--against": against})
        _write_account(
            production, about, edition or For.PUBLIC, out or STANDARD_OUTPUT, standard, form
        )
        return
    if about.strip().casefold() != FILM:
        hint = "Leave it out, or write prov or jsonld."
        raise WrongCall(Finding(f"{standard} is always the whole film", hint, None, "--for", about))
    if standard is Standard.CONFIRMATIONS:
        pictures = {"--raster": raster, "--pitch": pitch, "--cards": cards}
        _refuse(standard, "is no picture", "png", pictures)
        _refuse(standard, "has no proofs", "xlsx", {"--proof": proof, "--against": against})
        write_sheet(folder_of(production), out)
        return
    made = Deliverable(standard.value)
    folder = folder_of(production)
    deliver(Wanted(made, folder, edition, out, raster, pitch, cards, proof, against))


def _refuse(standard: Standard, why: str, instead: str, options: Mapping[str, object]) -> None:
    for name, value in options.items():
        if value is not None:
            hint = f"Leave it out, or write {instead}."
            raise WrongCall(Finding(f"{standard} {why}", hint, None, name, str(value)))


def _write_account(
    production: Path | None,
    about: str,
    edition: For,
    out: str,
    standard: Standard,
    form: Form | None,
) -> None:
    account = _account(production, about, edition)
    text = _text(account, standard, form)
    if out == STANDARD_OUTPUT:
        printing.say_document(text)
    else:
        write_whole(Path(out), text.encode("utf-8"))
        printing.say(f"Wrote {out}: {account.title}, {edition} edition.")
    for caution in account.cautions:
        printing.remark(caution)


def _account(production: Path | None, about: str, edition: For) -> Account:
    """The account that is asked for, cut to its edition."""

    results = results_of(folder_of(production))
    scope = scope_named(about, results.ledger)
    if scope.about is About.SHOT and edition is For.PUBLIC:
        hint = "Write --edition crew, or name a character."
        raise WrongCall(Finding("the public edition shows no shots", hint, None, "--for", about))
    source = page_source(results, Edition(edition.value))
    return account_of(
        results,
        scope,
        source.edition,
        named=source.named,
        puppet_name=lambda code: source.puppet(code).text,
        as_of=as_of(source),
    )


def _text(account: Account, standard: Standard, form: Form | None) -> str:

    if standard is Standard.JSONLD:
        return jsonld(account)
    return prov_n(account) if form is Form.N else prov_json(account)


def scope_named(text: str, ledger: Ledger) -> Scope:
    """The film, or the character or shot of this code, without regard to case. Raises WrongCall."""

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
    found = {kind: _of_code(wanted, facts) for kind, facts in tables.items()}
    scopes = [Scope(About(kind), code) for kind, code in found.items() if code is not None]
    if not scopes:
        raise _unknown(text, wanted, ledger)
    if len(scopes) > 1:
        hint = f"Write {' or '.join(f'{scope.about}={scope.code}' for scope in scopes)}."
        raise WrongCall(Finding("is a character and a shot", hint, None, "--for", text))
    return scopes[0]


def _of_code(text: str, facts: Iterable[Coded]) -> str | None:

    wanted = fold_code(stripped(text))
    return next((fact.code for fact in facts if fold_code(fact.code) == wanted), None)


def _unknown(text: str, wanted: str, ledger: Ledger) -> WrongCall:

    facts: list[Coded] = [*ledger.characters.values(), *ledger.shots.values()]
    like = nearest(wanted, facts, spellings)
    hint = f"Did you mean {' or '.join(with_name(fact) for fact in like)}?" if like else ""
    what = "no character and no shot has this code"
    return WrongCall(Finding(what, hint or "See `credits find`.", None, "--for", text))
