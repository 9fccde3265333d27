"""How input is broken: bytes, lines, cells, the parts of packed files, numbers, nesting, length."""

from __future__ import annotations

import copy
import io
import json
import re
import zipfile
import zlib
from collections.abc import Callable, Sequence
from contextlib import suppress
from random import Random

Content = bytes | str

HOSTILE = (
    "", " ", "0", "-1", "1e308", "NaN", "Infinity", "9" * 30, "9" * 5_000, "1/0", "0/1", "1-",
    "-1-5", "1-99999999999", "5-1", "1-48," * 3_000, "1-1," * 3_000, "2026-02-30", "0000-00-00",
    "9999-12-31", "10000-01-01", "=cmd()", "@SUM(A1)", "+1", "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>", "javascript:alert(1)", "{{7*7}}", "{% raw %}", "${7*7}",
    "' OR 1=1; --", "../../../etc/passwd", "..\\..\\x", "/dev/zero", "con", "nul", "com1.txt", ".",
    "..", "a/b", "a\x00b", "a\x07b", "\x1b[31m", "\ufeff", "\u202e", "\u200d", "\ud800", "\ufffe",
    "e\u0301" * 500, "\u0300" * 2_000, "𝒳" * 300, "ﷺ" * 300, "ß", "İ", "ı", "ǅ", "漢" * 500,
    "x" * 70_000, "a" * 300_000, "\n" * 500, "\t", "\r", '"', "'", '"' * 501, ",", ";", "\\",
    "%s%n%d", "%00", "&amp;lt;", "&#x0;", "]]>", "<!--", "*/", "\u2028", "true", "null", "[]", "{}",
    "[" * 3_000, "*" * 3_000, "_" * 3_000, "> " * 3_000, "`" * 3_000, "![" * 2_000, "[a](" * 2_000,
    "- " * 2_000, "# " * 500, "|" * 3_000, "1. " * 1_000, "((((" * 500, "<" * 3_000, "&" * 3_000,
    "a@" * 2_000, "http://" * 1_000, "01:00:00:00", "99:99:99:99", "00;00;00;02", "1:30", "½", "٣",
)  # fmt: skip
NUMBERS = (0, -1, 1, 2**31, 2**63, -(2**63), 2**64, 10**30, 1e308, -1e308, 1e-320, 0.1, 24, 1001)
LONGEST = 1_000_000
_TOKEN = re.compile(r"[\w.-]+|\s+|[^\w\s]")
_BYTES = (
    b"\x00",
    b"\xff",
    b"\xff\xff\xff\xff",
    b"\x7f",
    b"\x80",
    b"\n",
    b"\x00" * 64,
    b"PK\x03\x04",
)


def as_bytes(content: Content) -> bytes:
    """Return a mutant as it would stand in a file."""
    return content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass")


# --- Bytes


def _spot(data: Sequence[object] | bytes, random: Random) -> tuple[int, int]:
    first = random.randrange(len(data) + 1)
    return first, min(len(data), first + int(random.paretovariate(0.7)))


def broken_bytes(data: bytes, seeds: Sequence[bytes], random: Random) -> bytes:
    """Break bytes wherever they stand."""
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        first, last = _spot(data, random)
        match random.randrange(7):
            case 0 if data:
                at = min(first, len(data) - 1)
                data = data[:at] + bytes([data[at] ^ (1 << random.randrange(8))]) + data[at + 1 :]
            case 1:
                data = data[:first] + random.choice(_BYTES) + data[last:]
            case 2:
                data = data[:first] + data[last:]
            case 3:
                data = data[:last] + data[first:last] * random.choice((1, 2, 50)) + data[last:]
            case 4 if random.random() < 0.3:
                data = data[:first]
            case 5:
                other = random.choice(seeds)
                data = data[:first] + other[slice(*_spot(other, random))] + data[last:]
            case _:
                data = data[:first] + random.randbytes(last - first) + data[last:]
        data = data[: 2 * LONGEST]
    return data


# --- Texts


def broken_text(text: str, seeds: Sequence[str], random: Random) -> str:
    """Break a text by its tokens and lines."""
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        if random.random() < 0.3:
            lines = text.splitlines(keepends=True) or [""]
            at = random.randrange(len(lines))
            match random.randrange(5):
                case 0:
                    lines[at : at + 1] = []
                case 1:
                    lines[at : at + 1] = [lines[at][: LONGEST // 300]] * random.choice((2, 3, 300))
                case 2:
                    other = random.randrange(len(lines))
                    lines[at], lines[other] = lines[other], lines[at]
                case 3:
                    lines.insert(at, f"{random.choice(HOSTILE)}\n")
                case _:
                    lines.insert(at, random.choice(random.choice(seeds).splitlines(True) or [""]))
            text = "".join(lines)
        else:
            spans = [match.span() for match in _TOKEN.finditer(text[:200_000])] or [(0, 0)]
            first, last = random.choice(spans)
            new = random.choice(HOSTILE)
            if random.random() < 0.3:
                new = text[first : min(last, first + LONGEST // 1_000)] * random.choice(
                    (0, 2, 1_000)
                )
            elif random.random() < 0.2:
                new = text[first:last] + new
            text = text[:first] + new + text[last:]
        text = text[:LONGEST]
    return text


def broken_words(text: str, seeds: Sequence[str], random: Random) -> str:
    """Break a short text: a name, frames, a line that somebody types."""
    if random.random() < 0.1:
        text = random.choice(HOSTILE)
    elif random.random() < 0.1:
        text = "".join(chr(random.randrange(1, 0x3000)) for _ in range(random.randrange(1, 200)))
    return broken_text(text, seeds, random)[:20_000]


# --- JSON


def broken_json(text: str, seeds: Sequence[str], random: Random) -> str:
    """Break what a JSON text holds, or the text."""
    if random.random() < 0.3:
        return broken_text(text, seeds, random)
    root = [json.loads(text)]
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        holders: list[tuple[object, object]] = []
        waiting: list[object] = [root]
        while waiting:
            value = waiting.pop()
            keys = list(value) if isinstance(value, dict) else []
            keys = list(range(len(value))) if isinstance(value, list) else keys
            holders += [(value, key) for key in keys]
            waiting += [value[key] for key in keys]  # type: ignore[index]
        holder, key = random.choice(holders)
        new: object = random.choice(HOSTILE)
        match random.randrange(6):
            case 0:
                new = random.choice(NUMBERS)
            case 1:
                new = random.choice(([], {}, None, True, [[]], [None]))
            case 2:
                other, at = random.choice(holders)
                with suppress(RecursionError):  # it stays nested as deep as it is
                    new = copy.deepcopy(other[at])  # type: ignore[index]
            case 3:
                for _ in range(random.choice((3, 100, 300))):
                    new = random.choice(([new], {"children": [new]}))
        if isinstance(holder, dict) and random.random() < 0.2:
            holder.pop(key)
            holder[random.choice(HOSTILE)] = new
        else:
            holder[key] = new  # type: ignore[index]
    try:
        return json.dumps(root[0])
    except RecursionError:  # so deep is written by hand alone
        return broken_text(text, seeds, random)


def loaded(content: Content) -> object:
    """Read what a JSON text holds; the text itself, where it is none."""
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        return as_bytes(content)


def dumped(value: object) -> bytes:
    """Write what a mutant holds; bytes as they are."""
    return value if isinstance(value, bytes) else json.dumps(value).encode()


# --- XML and packed files


_ELEMENT = re.compile(rb"<[^<>]{1,4000}>")


def broken_xml(data: bytes, seeds: Sequence[bytes], random: Random) -> bytes:
    """Break the elements of XML: repeated, nested, taken out, their values exchanged."""
    if random.random() < 0.3:
        return broken_bytes(data, seeds, random)
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        spans = [match.span() for match in _ELEMENT.finditer(data[:500_000])]
        if not spans:
            break
        first, last = random.choice(spans)
        element = data[first:last]
        match random.randrange(6):
            case 0:
                data = data[:first] + data[last:]
            case 1:
                data = data[:first] + element * random.choice((2, 100, 3_000)) + data[last:]
            case 2:
                other = random.choice(spans)
                data = data[:first] + data[slice(*other)] + data[last:]
            case 3:
                quoted = list(re.finditer(rb'"[^"]*"', element))
                if quoted:
                    value = random.choice(quoted)
                    hostile = as_bytes(random.choice(HOSTILE)).replace(b'"', b"&quot;")
                    element = element[: value.start() + 1] + hostile + element[value.end() - 1 :]
                data = data[:first] + element + data[last:]
            case 4:
                hostile = as_bytes(random.choice(HOSTILE))
                data = data[:last] + hostile.replace(b"<", b"&lt;") + data[last:]
            case _:
                entities = (
                    b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
                )
                data = entities + data[:last] + b"&b;&a;" + data[last:]
        data = data[: 2 * LONGEST]
    return data


def broken_package(data: bytes, seeds: Sequence[bytes], random: Random) -> bytes:
    """Break a packed file: one of its parts, which parts there are, or the bytes of the whole."""
    if random.random() < 0.25:
        return broken_bytes(data, seeds, random)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        name = random.choice(sorted(parts))
        match random.randrange(10):
            case 0:
                parts.pop(name)
            case 1:
                called = random.choice(HOSTILE)[:200].encode("utf-8", "replace").decode()
                parts[called or "x"] = parts[name]
            case 2:
                parts[name] = b" " * random.choice((10, 1_000_000, 30_000_000))
            case _:
                parts[name] = broken_xml(parts[name], [parts[name]], random)
        if not parts:
            break
    out = io.BytesIO()
    with zipfile.ZipFile(
        out, "w", random.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED))
    ) as new:
        for name, content in parts.items():
            new.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def broken_png(data: bytes, seeds: Sequence[bytes], random: Random) -> bytes:
    """Break a PNG: its chunks, with checksums that are right, or the bytes of the whole."""
    if random.random() < 0.4:
        return broken_bytes(data, seeds, random)
    chunks, at = list[tuple[bytes, bytes]](), 8
    while at + 8 <= len(data):
        length = int.from_bytes(data[at : at + 4], "big")
        chunks.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        at += 12 + length
    for _ in range(min(12, int(random.paretovariate(1.2)))):
        place = random.randrange(len(chunks))
        kind, body = chunks[place]
        match random.randrange(4):
            case 0 if len(chunks) > 1:
                chunks.pop(place)
            case 1:
                chunks[place:place] = [(kind, body)] * random.choice((1, 50))
            case 2:
                packed = zlib.compress(b"\x00" * random.choice((10, 1_000_000, 20_000_000)))
                kinds = (b"zTXt", b"iTXt", b"iCCP", b"IDAT", b"eXIf")
                chunks.insert(place, (random.choice(kinds), b"key\x00\x00" + packed))
            case _:
                chunks[place] = (kind, broken_bytes(body, [body], random))
    out = data[:8]
    for kind, body in chunks:
        crc = zlib.crc32(kind + body).to_bytes(4, "big")
        out += len(body).to_bytes(4, "big") + kind + body + crc
    return out


Form = Callable[..., Content]


def mutated(form: Form, seeds: Sequence[Content], random: Random) -> Content:
    """Break one of the seeds in the way of its form."""
    return form(random.choice(seeds), seeds, random)
