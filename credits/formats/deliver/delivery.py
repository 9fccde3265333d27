"""What a deliverable of the end credits is made from, and how its file is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from credits.billing.credits import Credits
from credits.billing.roll import one_line
from credits.errors import Finding, WrongCall
from credits.formats.deliver.fonts import Needed
from credits.model.facts import EntryNumber


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """The compiled credits with everything that a printed copy says of itself.

    proof: its number, None for a draft. saved_on: when it was frozen. day, last_line, cut: how far
    the data goes. shows_unconfirmed: whether spellings that nobody confirmed are marked.
    shows_reasons: whether the rules, figures and entries behind a line may be in it. shows_held:
    whether the people who are not printed, and what contracts say, may be in it. changes: what
    came, went, moved or was respelled since an earlier proof: kind, name, what happened.
    """

    title: str
    code: str
    credits: Credits
    caution: str
    proof: int | None = None
    saved_on: date | None = None
    day: date | None = None
    last_line: EntryNumber | None = None
    cut: int | None = None
    shows_unconfirmed: bool = True
    shows_reasons: bool = True
    shows_held: bool = False
    changes: tuple[tuple[str, str, str], ...] | None = None

    @property
    def stand(self) -> str:
        """Return ``Proof 3 of 2026-03-05``, or ``Draft`` for credits that were not frozen."""
        if self.proof is None:
            return "Draft"
        saved = f" of {self.saved_on.isoformat()}" if self.saved_on is not None else ""
        return f"Proof {self.proof}{saved}"

    @property
    def data(self) -> str:
        """Say how far the data goes: ``Work up to 2026-03-03, log up to A-17, cut 2``."""
        known = {"work up to": self.day, "log up to": self.last_line, "cut": self.cut}
        parts = [f"{words} {value}" for words, value in known.items() if value is not None]
        nothing = "nothing is logged" if self.proof is None else f"as of proof {self.proof}"
        text = ", ".join(parts) or nothing
        return text[:1].upper() + text[1:]


def texts_needed(credits: Credits) -> Iterator[Needed]:
    """Yield every text that prints, with whose it is."""
    for section in credits.sections:
        heading = one_line(section.heading)
        yield Needed(heading, f"the heading '{heading}'")
        yield Needed(section.text, f"the text under '{heading}'")
        for line in section.lines:
            owner = f"{one_line(line.name)} (person {line.person})"
            yield Needed(line.name, owner)
            yield Needed(line.role or "", f"the role of {owner}")


# What the first bytes of a file of each kind are; plain text is known by its name alone.
SIGNATURES: Mapping[str, bytes] = {
    ".pdf": b"%PDF-",
    ".png": b"\x89PNG\r\n\x1a\n",
    ".xlsx": b"PK\x03\x04",
    ".txt": b"",
    ".csv": b"",
    ".json": b"",
}


def check_target(path: Path, suffix: str) -> None:
    """Refuse to write over anything but a file of the same kind.

    Raises WrongCall for a folder, or another kind of file.
    """
    if path.is_dir():
        hint = f"Name a file, such as {path / ('credits' + suffix)}."
        raise WrongCall(Finding("is a folder", hint, column="--out", value=str(path)))
    if path.is_file() and path.suffix.lower() == suffix:
        with path.open("rb") as file:
            if file.read(len(SIGNATURES[suffix])) in (SIGNATURES[suffix], b""):
                return
    if path.exists():
        hint = "Nothing is written over a file of another kind: name another file."
        what = f"is there and is no {suffix[1:].upper()} file"
        raise WrongCall(Finding(what, hint, column="--out", value=str(path)))
