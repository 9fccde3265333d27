"""Makes the example production, *The Tardy Echo*: ``python examples/make_example.py [DIR]``.

The same bytes every time: chance is seeded, no clock is read, nothing comes from outside. At the
end the production is read back from its files, and its open questions are compared with the list
in its README.
"""

from __future__ import annotations

import sys
from pathlib import Path

from make import audit, folder, pictures

HERE = Path(__file__).parent


def main(arguments: list[str]) -> int:
    """Write the production, print its totals; 1 when it asks other questions than intended."""
    target = Path(arguments[0]) if arguments else HERE / folder.SLUG
    made = folder.make()
    counts = folder.write(made, target)
    counts["pictures"] = pictures.write(target / "pictures")
    for name, rows in counts.items():
        print(f"{name:32}{rows:6}")
    entries = sum(rows for name, rows in counts.items() if name.startswith("entries"))
    print(f"{'entries in all':32}{entries:6}")
    production = audit.Production(target)
    print(f"{'frames of the cut, as shown':32}{audit.cut_length(production):6}")
    return audit.report(production, HERE / folder.SLUG / "README.md")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
