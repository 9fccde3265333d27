"""Templates are compiled once: what that makes is kept where Python keeps its own modules."""

from __future__ import annotations

import sys
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path

from jinja2 import FileSystemBytecodeCache, compiler
from jinja2.bccache import Bucket


class CompiledTemplates(FileSystemBytecodeCache):
    """The compiled templates; each is looked up by its text, and is made anew for another.

    Where Python writes no modules of its own, or may not, every process compiles for itself.
    """

    def __init__(self) -> None:
        folder = Path(cache_from_source(__file__)).parent
        # Another version of the library may write other code for the same template.
        seen = Path(compiler.__file__).stat()
        super().__init__(str(folder), f"template-{seen.st_size}-{seen.st_mtime_ns}-%s.cache")

    def load_bytecode(self, bucket: Bucket) -> None:
        """Read a compiled template, as far as one is kept and may be read."""
        with suppress(OSError):
            super().load_bytecode(bucket)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a compiled template where that may be."""
        if not sys.dont_write_bytecode:
            with suppress(OSError):
                Path(self.directory).mkdir(parents=True, exist_ok=True)
                super().dump_bytecode(bucket)
