"""The templates, the migrations and the example are found, packed or in a checkout."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits import places


def test_each_folder_holds_what_it_is_for() -> None:
    assert (places.templates() / "base.html").is_file()
    assert (places.templates() / "style.css").is_file()
    assert (places.migrations() / "env.py").is_file()
    assert (places.migrations() / "versions" / "0001_the_log.py").is_file()
    assert len(list(places.example().glob("*/production.toml"))) == 1


def test_a_packed_folder_comes_before_the_one_beside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "credits"
    monkeypatch.setattr(places, "_PACKAGE", package)
    monkeypatch.setattr(places, "_PACKED", package / "_data")
    assert places.templates() == tmp_path / "site_templates"
    (package / "_data/site_templates").mkdir(parents=True)
    assert places.templates() == package / "_data/site_templates"
    assert places.migrations() == tmp_path / "db"
