"""``credits export``: the end credits for people and title houses, open standards for machines."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.completion import production_codes
from credits.cli.confirm import write_sheet
from credits.cli.deliverables import Deliverable, Wanted, deliver
from credits.cli.options import ProductionOption, folder_of
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from credits.cli.codes import Coded
    from credits.compute.scope import Scope
    from credits.model.ledger import Ledger
    from credits.pages.provenance_rows import Provenance

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
        from credits.files import write_whole

        write_whole(Path(out), text.encode("utf-8"))
        printing.say(f"Wrote {out}: {account.title}, {edition} edition.")
    for caution in account.cautions:
        printing.remark(caution)


def _account(production: Path | None, about: str, edition: For) -> Provenance:
    """The account that is asked for, cut to its edition."""
    from credits.app import results_of
    from credits.compute.scope import About
    from credits.editions import Edition
    from credits.pages.provenance import provenance
    from credits.pages.source import page_source

    results = results_of(folder_of(production))
    scope = scope_named(about, results.ledger)
    if scope.about is About.SHOT and edition is For.PUBLIC:
        hint = "Write --edition crew, or name a character."
        raise WrongCall(Finding("the public edition shows no shots", hint, None, "--for", about))
    return provenance(page_source(results, Edition(edition.value)), scope)


def _text(account: Provenance, standard: Standard, form: Form | None) -> str:
    from credits.exchange.jsonld_out import jsonld
    from credits.exchange.prov_out import prov_json, prov_n

    if standard is Standard.JSONLD:
        return jsonld(account)
    return prov_n(account) if form is Form.N else prov_json(account)


def scope_named(text: str, ledger: Ledger) -> Scope:
    """The film, or the character or shot of this code, without regard to case. Raises WrongCall."""
    from credits.compute.scope import About, Scope

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
    from credits.exchange.values import stripped
    from credits.text import fold_code

    wanted = fold_code(stripped(text))
    return next((fact.code for fact in facts if fold_code(fact.code) == wanted), None)


def _unknown(text: str, wanted: str, ledger: Ledger) -> WrongCall:
    from credits.cli.codes import spellings, with_name
    from credits.text import nearest

    facts: list[Coded] = [*ledger.characters.values(), *ledger.shots.values()]
    like = nearest(wanted, facts, spellings)
    hint = f"Did you mean {' or '.join(with_name(fact) for fact in like)}?" if like else ""
    what = "no character and no shot has this code"
    return WrongCall(Finding(what, hint or "See `credits find`.", None, "--for", text))
