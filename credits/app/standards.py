"""Write who made what as open standards: W3C PROV and schema.org in JSON-LD."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from credits.app.named import Coded, like_ones, of_code
from credits.app.production import open_snapshot
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.formats.standards.account import About, Account, Scope, account_of
from credits.model.ledger import Ledger
from credits.site.source import PageSource

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
        facts: list[Coded] = [*ledger.characters.values(), *ledger.shots.values()]
        what = "no character and no shot has this code"
        hint = like_ones(wanted, facts) or "See `credits find`."
        raise WrongCall(Finding(what, hint, None, "--for", text))
    if len(scopes) > 1:
        hint = f"Write {' or '.join(f'{scope.about}={scope.code}' for scope in scopes)}."
        raise WrongCall(Finding("is a character and a shot", hint, None, "--for", text))
    return scopes[0]
