"""How many examples a law is tried with: the same few each time, with ``LAWS=full`` many new."""

from __future__ import annotations

import os

FULL = os.environ.get("LAWS") == "full"
LEAST, MOST = 15, 20


def drawn(full: int) -> int:
    """Return how many examples are drawn, of those that a law is tried with in full."""
    return full if FULL else min(full, max(LEAST, min(full // 4, MOST)))
