"""Build hook: the wheel carries templates, migrations and the example under ``credits/_data/``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

FOLDERS = ("site_templates", "db", "examples")


class PackedData(BuildHookInterface):  # type: ignore[type-arg]
    """Adds the data folders to a wheel, not to an editable install, which reads the checkout."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Name the folders to carry; ``version`` is "editable" for an editable install."""
        if version == "editable":
            return
        for folder in FOLDERS:
            if (Path(self.root) / folder).is_dir():
                build_data["force_include"][str(Path(self.root) / folder)] = (
                    f"credits/_data/{folder}"
                )
