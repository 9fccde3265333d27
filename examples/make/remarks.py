"""Notes on entries: each remark of notes.txt once, on an entry of its craft and character."""

from __future__ import annotations

from pathlib import Path

from .chance import Chance
from .tables import Entry


def _listed() -> list[tuple[str, str, str]]:
    text = (Path(__file__).parent / "notes.txt").read_text(encoding="utf-8")
    rows = []
    for line in text.splitlines()[1:]:
        subject, note = (cell.strip() for cell in line.split("|", 1))
        craft, _, character = subject.partition(" ")
        rows.append((craft, character, note.replace("\\n", "\n").replace("<br>", " ")))
    return rows


def _subject(entry: Entry) -> str:
    """The character that an entry is about, by way of the copy or the part when it names none."""
    return entry.character or (entry.puppet or entry.part).split("-")[0]


def remark(entries: list[Entry]) -> int:
    """Write the notes into the entries; give how many found a place."""
    placed = 0
    for number, (craft, character, note) in enumerate(_listed()):
        free = [
            e for e in entries if e.craft == craft and not e.note and character in ("", _subject(e))
        ]
        if not free:
            continue
        entry = Chance("note", number, note).of(free)
        entry.note = note.removeprefix("!")
        entry.private = "yes" if note.startswith("!") else ""
        placed += 1
    return placed
