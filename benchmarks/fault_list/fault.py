"""What is known of one fault."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault in a file of the product.

    path: of the file, below ``credits``. text: what stands there, once; instead: what the fault
    makes of it. harm: what a user would meet. tests: files or folders below ``tests`` that are
    asked first. changes_nothing: why nobody could ever tell; empty: somebody could.
    """

    path: str
    text: str
    instead: str
    harm: str
    tests: tuple[str, ...]
    changes_nothing: str = ""

    @property
    def room(self) -> str:
        """The room of the file: ``billing``; ``ground`` for a module of the ground floor."""
        first, slash, _ = self.path.partition("/")
        return first if slash else "ground"

    def applied_to(self, source: str) -> str:
        """Return a source with the fault. ValueError when its text does not stand there once."""
        found = source.count(self.text)
        if found != 1:
            where = f"credits/{self.path}: {self.text!r}"
            raise ValueError(f"{where} is found {found} times; a fault's text stands there once")
        return source.replace(self.text, self.instead)
