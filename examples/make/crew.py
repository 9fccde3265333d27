"""The crew as people.txt lists it: names, wishes, engagements."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from .tables import Row

CRAFTS: tuple[Row, ...] = (
    {
        "craft": "eyes",
        "name": "Eyes and eyelids",
        "department": "Faces",
        "kind": "build",
        "footage": "no",
        "heading": "Eyes and eyelids",
    },
    {
        "craft": "repair",
        "name": "Puppet repair",
        "department": "Puppet hospital",
        "kind": "build",
        "footage": "no",
        "heading": "Puppet hospital (open all night)",
    },
)

POOLS: dict[str, tuple[str, ...]] = {
    "design": ("ase", "yaz", "may"),
    "maquette": ("cressida", "may"),
    "sculpt": ("lucja", "onne", "lena", "quoll"),
    "armature": ("olesia", "gus"),
    "mould": ("sukma", "hamish"),
    "casting": ("bertrand", "dagny", "sukma"),
    "fabrication": ("wilf", "hattie", "imani", "platon", "cosima"),
    "costume": ("odalys", "chizuru"),
    "hair": ("fjodda", "morwenna"),
    "paint": ("lene", "iver", "nuala"),
    "faces": ("naomi", "meiting", "zsofi"),
    "eyes": ("ptolemy", "zsofi"),
}
HOSPITAL = ("doc", "sunniva", "ekow", "wilf")
RIGGERS = ("magnus", "ruut")
ASSISTANTS = ("plaifah", "selamawit", "ottilie")


@dataclass(frozen=True, slots=True)
class Engagement:
    """One job on the production, from one day to another, both included."""

    person: str
    department: str
    job_title: str
    starts_on: date
    ends_on: date
    heading: str
    billing: str

    def row(self) -> Row:
        """The engagement as cells of its table."""
        return {
            "person": self.person,
            "department": self.department,
            "job_title": self.job_title,
            "starts_on": self.starts_on.isoformat(),
            "ends_on": self.ends_on.isoformat(),
            "guaranteed_heading": self.heading,
            "billing_number": self.billing,
        }


def isni(fifteen: str) -> str:
    """Fifteen digits with their check character by ISO 7064 MOD 11-2, in groups of four."""
    total = 0
    for digit in fifteen:
        total = (total + int(digit)) * 2
    check = (12 - total % 11) % 11
    whole = fifteen + ("X" if check == 10 else str(check))
    return " ".join(whole[i : i + 4] for i in range(0, 16, 4))


def _more(text: str) -> dict[str, str]:
    pairs = (item.split("=", 1) for item in text.replace("; ", "\n").splitlines() if "=" in item)
    found: dict[str, str] = {}
    for key, value in pairs:
        found[key.strip()] = value.strip()
    return found


def _person(cells: list[str]) -> Row:
    more = _more(cells[3])
    return {
        "person": cells[0],
        "credit_name": cells[1],
        "sort_name": cells[2],
        "legal_name": more.get("legal", ""),
        "email": more.get("email", ""),
        "isni": isni(more["isni"]) if "isni" in more else "",
        "credit_wish": more.get("wish", "credited"),
        "name_confirmed_on": more.get("confirmed", ""),
        "same_as": more.get("same", ""),
        "note": more.get("note", ""),
    }


def _engagements(person: str, text: str) -> list[Engagement]:
    found = []
    for item in filter(None, (part.strip() for part in text.split(";"))):
        cells = [*item.split("/"), "", ""]
        start, end = date.fromisoformat(cells[2]), date.fromisoformat(cells[3])
        found.append(Engagement(person, cells[0], cells[1], start, end, cells[4], cells[5]))
    return found


def _listed() -> tuple[list[Row], list[Engagement]]:
    text = (Path(__file__).parent / "people.txt").read_text(encoding="utf-8")
    people: list[Row] = []
    engaged: list[Engagement] = []
    for line in text.splitlines()[1:]:
        cells = [cell.strip() for cell in line.split("|")]
        people.append(_person(cells))
        engaged += _engagements(cells[0], cells[4])
    return people, engaged


PEOPLE, ENGAGEMENTS = _listed()


def is_engaged(person: str, day: date, department: str | None = None) -> bool:
    """Whether a person has an engagement (in that department, when named) on a day."""
    return any(
        e.person == person
        and e.starts_on <= day <= e.ends_on
        and (department is None or e.department == department)
        for e in ENGAGEMENTS
    )
