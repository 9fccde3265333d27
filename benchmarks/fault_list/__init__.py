"""Faults that somebody tired might write into the product: what ``benchmarks.faults`` tries.

Each is a text of one file that stands there once, and what would stand there instead. A fault that
changes nothing that anybody could see says why, and is counted apart.
"""

from __future__ import annotations

from benchmarks.fault_list import counting, crediting, keeping, reading, reviewing, showing
from benchmarks.fault_list.fault import Fault

FAULTS: tuple[Fault, ...] = (
    *counting.FAULTS,
    *reviewing.FAULTS,
    *crediting.FAULTS,
    *reading.FAULTS,
    *keeping.FAULTS,
    *showing.FAULTS,
)
