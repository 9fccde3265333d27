"""Names for machines: a URN for everything that a production's open documents speak of."""

from __future__ import annotations

import re
from urllib.parse import quote

TERMS = "urn:x-performance-credits:terms:"
_NOT_EVERYWHERE = re.compile(r"[.~]|^-")


def local_name(code: str) -> str:
    """A code of any script as it may stand in a URN, a JSON-LD id and a PROV-N name alike."""
    plain = quote(code, safe="", errors="surrogatepass")
    return _NOT_EVERYWHERE.sub(lambda sign: f"%{ord(sign[0]):02X}", plain)


def namespace(production: str, kind: str) -> str:
    """Where the names of a kind of thing of a production begin."""
    return f"urn:x-performance-credits:{local_name(production)}:{kind}:"


def urn(production: str, kind: str, code: str) -> str:
    """``urn:x-performance-credits:small:puppet:wick-1``."""
    return namespace(production, kind) + local_name(code)
