"""A site for Hugo that has the same pages as a finished one, of the same bytes, from ready data.

Each page is a content file whose body is prepared; one template prints it. So Hugo reads, renders
and writes as many pages, and has nothing to compute.
"""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

SETTINGS = """
baseURL = "/"
uglyURLs = true
disablePathToLower = true
disableKinds = ["home", "section", "taxonomy", "term", "RSS", "sitemap", "robotsTXT", "404"]
"""
TEMPLATE = "{{ .Content }}"


def make_project(site: Path, project: Path) -> int:
    """Write the project for the pages of a site; return how many there are."""
    shutil.rmtree(project, ignore_errors=True)
    content, layouts = project / "content", project / "layouts" / "_default"
    layouts.mkdir(parents=True)
    (project / "config.toml").write_text(SETTINGS, encoding="utf-8")
    (layouts / "single.html").write_text(TEMPLATE, encoding="utf-8")
    pages = sorted(site.rglob("*.html"))
    for page in pages:
        way = page.relative_to(site)
        # A page called index is, to Hugo, the folder that it lies in.
        name = way.with_name(f"page-{way.name}")
        front = json.dumps({"title": str(way)})
        target = content / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(f"{front}\n{page.read_text(encoding='utf-8')}", encoding="utf-8")
    return len(pages)


if __name__ == "__main__":
    print(make_project(Path(sys.argv[1]), Path(sys.argv[2])))
