"""The templates, the migrations and the example are found, packed or in a checkout."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits import files


def test_each_folder_holds_what_it_is_for() -> None:
    assert (files.shipped("site_templates") / "base.html").is_file()
    assert (files.shipped("site_templates") / "style.css").is_file()
    assert (files.shipped("db") / "env.py").is_file()
    assert (files.shipped("db") / "versions" / "0001_the_log.py").is_file()
    assert len(list(files.shipped("examples").glob("*/production.toml"))) == 1


def test_a_packed_folder_comes_before_the_one_beside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "credits"
    monkeypatch.setattr(files, "_PACKAGE", package)
    monkeypatch.setattr(files, "_PACKED", package / "_data")
    assert files.shipped("site_templates") == tmp_path / "site_templates"
    (package / "_data/site_templates").mkdir(parents=True)
    assert files.shipped("site_templates") == package / "_data/site_templates"
    assert files.shipped("db") == tmp_path / "db"
