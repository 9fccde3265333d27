"""The cards as files of a new folder, which is there whole or not at all."""

from __future__ import annotations

import shutil
import tempfile
import unicodedata
from pathlib import Path

from credits.compute.roll_lines import Card
from credits.errors import Finding, WrongCall
from credits.exchange.credits_png import Measured, card_pngs

LONGEST_NAME = 40


def card_name(number: int, heading: str) -> str:
    """``01-directed-by.png``: the place in the credits, and the heading as far as ASCII goes."""
    plain = unicodedata.normalize("NFKD", heading).encode("ascii", "ignore").decode().lower()
    words = "".join(sign if sign.isalnum() else " " for sign in plain).split()
    return f"{'-'.join([f'{number:02}', *words])[:LONGEST_NAME].rstrip('-')}.png"


def write_cards(measured: Measured, folder: Path) -> tuple[tuple[Path, Card], ...]:
    """Write a PNG for each card into a folder that is made for them.

    Raises WrongCall where something is there already: nothing is written over, and no old card
    stays among new ones.
    """
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
    if folder.exists() or folder.is_symlink():
        hint = "Name a new folder, or take this one away first."
        raise WrongCall(Finding("is there already", hint, None, "--cards", str(folder)))
    if not folder.parent.is_dir():
        hint = "Make it first, or name another place."
        finding = Finding("is no folder to write to", hint, None, "--cards", str(folder.parent))
        raise WrongCall(finding)
    pictures = card_pngs(measured)
    beside = Path(tempfile.mkdtemp(prefix=".credits-cards-", dir=folder.parent))
    try:
        written = []
        for number, (card, picture) in enumerate(zip(measured.cards, pictures, strict=True), 1):
            name = card_name(number, card.heading)
            (beside / name).write_bytes(picture)
            written.append((folder / name, card))
        beside.chmod(0o755)
        beside.rename(folder)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return tuple(written)
