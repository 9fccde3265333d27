"""``python -m credits``."""

import sys

from credits.cli.main import run

sys.exit(run())
