"""Every byte of every file, in every way in which a reader or a program could make it out."""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader
from pypdf.generic import StreamObject

from tests.canary_table import Canary


@dataclass(frozen=True)
class Read:
    """A file as it is looked through. ``binary``: numbers may stand in its bytes by chance."""

    name: str
    text: str
    binary: bool = False

    def has(self, canary: Canary) -> bool:
        """Whether the canary is in the file or in its name."""
        if any(page in self.name for page in canary.not_on):
            return False
        if self.binary and "zq" not in canary.pattern:
            return False
        return re.search(canary.pattern, self.text) is not None


def _streams(content: bytes) -> Iterator[str]:
    """What the PDF's objects hold when unpacked, the packed and the described ones too."""
    reader = PdfReader(io.BytesIO(content))
    for place in range(1, int(str(reader.trailer["/Size"]))):
        found = reader.get_object(place)
        if isinstance(found, StreamObject):
            yield found.get_data().decode("latin-1")
        yield str(found)


def _texts(name: str, content: bytes) -> Iterator[str]:
    """Everything that a reader, a program or a search could make of the bytes."""
    plain = content.decode("utf-8", "replace")
    yield from (name, plain)
    if "&" in plain:
        yield from (html.unescape(plain), html.unescape(html.unescape(plain)))
    ending = name.rpartition(".")[2]
    if ending in ("js", "json", "jsonld"):
        yield re.sub(r"\\u([0-9a-fA-F]{4})", lambda code: chr(int(code[1], 16)), plain)
    if ending == "pdf":
        reader = PdfReader(io.BytesIO(content))
        pages = " ".join(page.extract_text() for page in reader.pages)
        told = " ".join(f"{key} {value}" for key, value in (reader.metadata or {}).items())
        yield from (pages, re.sub(r"-?\s*\n\s*", "", pages), told)


def raw_text(content: bytes) -> str:
    """The bytes as letters, of one byte and of two."""
    return " ".join([content.decode("latin-1"), content.decode("utf-16-be", "replace")]).lower()


def _read(path: Path, name: str) -> Iterator[Read]:
    """The file, what is packed into it, and the bytes as they are."""
    content = path.read_bytes()
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            for part in book.namelist():
                yield Read(f"{name}/{part}", " ".join(_texts(part, book.read(part))).lower())
    if path.suffix == ".pdf":
        yield Read(name, " ".join(_streams(content)).lower(), binary=True)
    if path.suffix in (".pdf", ".xlsx", ".png", ".jpg"):
        yield Read(name, f"{name} {raw_text(content)}".lower(), binary=True)
    if path.suffix not in (".xlsx", ".png", ".jpg"):
        yield Read(name, " ".join(_texts(name, content)).lower())


def read_all(folder: Path) -> tuple[Read, ...]:
    """Every file under a folder."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    return tuple(one for p in paths for one in _read(p, p.relative_to(folder).as_posix()))


def places(files: Iterable[Read], canary: Canary) -> list[str]:
    """The names of the files that have the canary."""
    return [one.name for one in files if one.has(canary)]
