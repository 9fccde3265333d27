"""Reads the written production back and asks the questions that its log leaves open.

The counts are compared with the table in the README, so that neither drifts.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from .tables import Row

LONGEST_DAY = 16 * 60
ALIKE = 0.9


def frames_of(text: str) -> set[int]:
    """The frame numbers of ranges such as `1-20,25`."""
    found: set[int] = set()
    for run in filter(None, text.split(",")):
        first, _, last = run.partition("-")
        found |= set(range(int(first), int(last or first) + 1))
    return found


class Production:
    """The tables of a production folder, as they are on disk."""

    def __init__(self, folder: Path) -> None:
        self.tables: dict[str, list[Row]] = {}
        for path in sorted(folder.rglob("*.csv")):
            with path.open(encoding="utf-8", newline="") as file:
                rows = list(csv.DictReader(file))
            self.tables.setdefault(re.split(r"[-.]", path.name)[0], []).extend(rows)
        self.plan = tomllib.loads((folder / "credit-plan.toml").read_text(encoding="utf-8"))
        same = {p["person"]: p["same_as"] for p in self.tables["people"] if p["same_as"]}
        self.entries = self.tables["entries"]
        for entry in self.entries:
            entry["person"] = same.get(entry["person"], entry["person"])
            entry["on"] = entry.get("finished_on", "")
        self.length = {s["shot"]: int(s["frames"]) for s in self.tables["shots"]}
        shoots = [t for t in self.tables["takes"] if t["purpose"] == "shoot"]
        self.shoots = {(t["shot"], t["take"]) for t in shoots}
        shoots.sort(key=lambda t: (t["decided_on"], int(t["take"])))
        self.used = {t["shot"]: t["take"] for t in shoots if t["decision"] == "accepted"}
        self.claims = [
            e
            for e in self.entries
            if e["craft"] == "animation" and (e["shot"], e["take"]) in self.shoots
        ]

    def claimed(self) -> dict[tuple[str, str, str], set[int]]:
        """The claimed frames of each shot, take and character."""
        found: dict[tuple[str, str, str], set[int]] = defaultdict(set)
        for e in self.claims:
            found[e["shot"], e["take"], e["character"]] |= frames_of(e["frames"])
        return found

    def shown(self) -> Iterator[tuple[str, str, set[int], str]]:
        """The clips of the cut: shot, take, frames, speed."""
        for clip in self.tables["cut"]:
            frames = set(range(int(clip["first"]), int(clip["last"]) + 1))
            yield clip["shot"], clip["take"] or self.used[clip["shot"]], frames, clip["speed"]


def cut_length(p: Production) -> int:
    """The length of the cut in frames, slowed clips as they are shown."""
    return sum(len(frames) * (2 if speed == "1/2" else 1) for _, _, frames, speed in p.shown())


def _in_two_places(p: Production, column: str) -> set[str]:
    stages: dict[tuple[str, str], set[str]] = defaultdict(set)
    for e in p.entries:
        if e.get("stage") and e.get(column):
            stages[e[column], e["on"]].add(e["stage"])
    return {f"{who} on {on}" for (who, on), where in stages.items() if len(where) > 1}


def _long_days(p: Production) -> set[str]:
    minutes: dict[tuple[str, str], int] = defaultdict(int)
    for e in p.entries:
        if e["on"]:
            minutes[e["person"], e["on"]] += int(e.get("minutes") or 0)
    return {f"{who} on {on}" for (who, on), n in minutes.items() if n > LONGEST_DAY}


def _engagements(p: Production) -> tuple[set[str], set[str]]:
    spans: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for row in p.tables["engagements"]:
        spans[row["person"]].append((row["starts_on"], row["ends_on"]))
    outside = {
        f"{e['person']} on {e['on']}"
        for e in p.entries
        if e["on"]
        and e["person"] in spans
        and not any(start <= e["on"] <= end for start, end in spans[e["person"]])
    }
    return {e["person"] for e in p.entries if e["person"] not in spans}, outside


def _names(p: Production) -> tuple[set[str], set[str], set[str]]:
    people = [row for row in p.tables["people"] if not row["same_as"]]
    alike = {
        f"{a['person']} and {b['person']}"
        for n, a in enumerate(people)
        for b in people[n + 1 :]
        if SequenceMatcher(None, a["credit_name"], b["credit_name"]).ratio() >= ALIKE
    }
    unsorted = {r["person"] for r in people if not r["sort_name"] and " " in r["credit_name"]}
    asked = {r["person"] for r in people if r["credit_wish"] != "uncredited"}
    unconfirmed = asked - {r["person"] for r in people if r["name_confirmed_on"]}
    return alike, unsorted, unconfirmed


def _named_twice(p: Production) -> set[str]:
    """Whoever has a heading alone by contract, for animation, and animated beside it."""
    alone = {h for s in p.plan["section"] if "crafts" not in s for h in _headings(s)}
    bound = {
        row["person"]
        for row in p.tables["engagements"]
        if row["guaranteed_heading"] in alone and row["department"] == "Animation"
    }
    return bound & {e["person"] for e in p.claims}


def _headings(section: dict[str, Any]) -> list[str]:
    guaranteed = section.get("guaranteed")
    return guaranteed if isinstance(guaranteed, list) else []


def _gaps(p: Production) -> set[str]:
    shown: dict[tuple[str, str, str], set[int]] = defaultdict(set)
    for row in p.tables["replacements"]:
        shown[row["shot"], row["take"], row["character"]] |= frames_of(row["frames"])
    kept = p.claimed()
    return {
        f"{key[0]}, {key[2]}"
        for key, frames in shown.items()
        if any(min(frames) < f < max(frames) for f in kept[key] - frames)
    }


def _cut(p: Production) -> tuple[set[str], set[str], set[str]]:
    kept = p.claimed()
    frames: dict[tuple[str, str], set[int]] = defaultdict(set)
    cast: set[str] = set()
    for (shot, take, _character), some in kept.items():
        frames[shot, take] |= some
    for shot, take, clip, _ in p.shown():
        cast |= {c for (s, t, c), some in kept.items() if (s, t) == (shot, take) and some & clip}
    bare = {s for s, t, clip, _ in p.shown() if clip - frames[s, t]}
    voiced = {e["character"] for e in p.entries if e["craft"] == "voice"}
    silent = {c["character"] for c in p.tables["characters"] if c["silent"] == "yes"}
    good = {(t["shot"], t["take"]) for t in p.tables["takes"] if t["decision"] == "accepted"}
    return bare, cast - voiced - silent, {s for s, t, _, _ in p.shown() if (s, t) not in good}


def _puppets(p: Production) -> tuple[set[str], set[str], set[str]]:
    copies: dict[str, int] = defaultdict(int)
    for row in p.tables["puppets"]:
        copies[row["character"]] += 1
    ready = {r["puppet"]: (r["ready_on"], r["retired_on"] or "9") for r in p.tables["puppets"]}
    unknown = {
        f"{e['character']} in {e['shot']}"
        for e in p.claims
        if not e["puppet"] and copies[e["character"]] > 1
    }
    dated = [(e["puppet"], e["on"], *ready[e["puppet"]]) for e in p.claims if e["puppet"]]
    early = {puppet for puppet, on, first, _ in dated if on < first}
    return unknown, early, {puppet for puppet, on, _, last in dated if on > last}


def _parts(p: Production) -> tuple[set[str], set[str]]:
    spans: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for f in p.tables["fittings"]:
        spans[f["part"]].append((f["from_on"], f["to_on"] or "9"))
    twice = {
        part
        for part, on in spans.items()
        for (_, end), (start, _) in zip(sorted(on), sorted(on)[1:], strict=False)
        if start <= end
    }
    days: dict[tuple[str, str], set[str]] = defaultdict(set)
    for r in p.tables["replacements"]:
        for e in p.claims:
            here = (e["shot"], e["take"], e["character"]) == (r["shot"], r["take"], r["character"])
            if here and frames_of(e["frames"]) & frames_of(r["frames"]):
                days[r["part"], e["on"]].add(e["stage"])
    return twice, {part for (part, _), stages in days.items() if len(stages) > 1}


def _unknown_codes(p: Production) -> set[str]:
    known = {
        column: {row[column] for row in p.tables[table]}
        for table, column in (
            *(("people", "person"), ("characters", "character"), ("puppets", "puppet")),
            *(("parts", "part"), ("shots", "shot"), ("stages", "stage")),
            ("sequences", "sequence"),
        )
    }
    return {
        f"{table}: {column} {row[column]}"
        for table, rows in p.tables.items()
        for row in rows
        for column in known.keys() & row.keys()
        if row[column] and row[column] not in known[column]
    }


def questions(p: Production) -> dict[str, set[str]]:
    """Every question by its name, with its subjects; the empty ones too."""
    without, outside = _engagements(p)
    alike, unsorted, unconfirmed = _names(p)
    bare, unvoiced, not_accepted = _cut(p)
    unknown, early, late = _puppets(p)
    twice, two_places = _parts(p)
    omitted = {s["shot"] for s in p.tables["shots"] if s["status"] == "omitted"}
    beyond = {
        e["shot"]
        for e in p.entries
        if e.get("frames") and max(frames_of(e["frames"])) > p.length[e["shot"]]
    }
    return {
        "puppet-in-two-places": _in_two_places(p, "puppet"),
        "person-in-two-places": _in_two_places(p, "person"),
        "part-on-two-puppets": twice,
        "part-in-two-places": two_places,
        "puppet-after-retirement": early | late,
        "frames-beyond-shot": beyond,
        "frames-unclaimed": bare,
        "cut-take-not-accepted": not_accepted,
        "puppet-unknown": unknown,
        "nobody-voices": unvoiced,
        "outside-engagement": outside,
        "no-engagement": without,
        "guaranteed-twice": _named_twice(p),
        "names-alike": alike,
        "name-unconfirmed": unconfirmed,
        "sort-name-missing": unsorted,
        "day-too-long": _long_days(p),
        "replacement-gap": _gaps(p),
        "omitted-shot-worked": {e["shot"] for e in p.entries if e.get("shot") in omitted},
        "code unknown": _unknown_codes(p),
    }


def intended(readme: Path) -> dict[str, int]:
    """The questions that the README's table promises, with their number."""
    rows = re.findall(r"^\| `([a-z-]+)` \| (\d+) \|", readme.read_text(encoding="utf-8"), re.M)
    return {name: int(count) for name, count in rows}


def report(p: Production, readme: Path) -> int:
    """Print what is open; 1 when it differs from the README's table, else 0."""
    promised = intended(readme)
    wrong = 0
    for name, subjects in questions(p).items():
        differs = len(subjects) != promised.get(name, 0)
        wrong += differs
        if subjects or differs:
            mark = f"  README says {promised.get(name, 0)}" if differs else ""
            print(f"{name:26}{len(subjects):3}  {'; '.join(sorted(subjects))}{mark}")
    print("as the README says" if not wrong else f"{wrong} questions differ from the README")
    return 1 if wrong else 0
