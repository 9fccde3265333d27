"""The characters and what is built for each: copies, faces, costumes, hands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from .tables import Row


@dataclass(frozen=True, slots=True)
class Character:
    """A role, and how many of everything the workshop makes for it."""

    code: str
    name: str
    note: str
    copies: int
    begins: date
    kits: str = ""
    faces: int = 0
    poses_on: int = 2
    hair: bool = False
    costume: str = ""
    hands: int = 0
    silent: bool = False


CHARACTERS: tuple[Character, ...] = (
    Character(
        "tibb",
        "Tibb Underlark",
        "Apprentice piano tuner, *almost eleven*, a dormouse. Carries the A everywhere: a fork "
        "taller than she is. Listens with the whole body; **never** look at the camera.",
        copies=6,
        begins=date(2025, 2, 3),
        kits="abcd",
        faces=18,
        hair=True,
        costume="coat",
        hands=4,
    ),
    Character(
        "echo",
        "The Echo",
        "A very old long-eared bat, and the only one of her trade. Has lost her ear trumpet and "
        "most of the consonants. On ones, always: the ears are *wet sails*.",
        copies=4,
        begins=date(2025, 2, 17),
        kits="ab",
        faces=10,
        poses_on=1,
        hair=True,
        costume="shawl",
        hands=2,
    ),
    Character(
        "fugg",
        "Master Hollin Fugg",
        "Piano tuner, badger, Tibb's master. Acts with his moustache; the face is behind it.",
        copies=4,
        begins=date(2025, 3, 3),
        kits="ab",
        faces=8,
        hair=True,
        costume="waistcoat",
        hands=2,
    ),
    Character(
        "crank",
        "Bartlemy Crank",
        "Driver of the funicular, goat. Two hinges for a jaw and a horn he is proud of "
        "(the brass one).",
        copies=3,
        begins=date(2025, 3, 24),
        hair=True,
        costume="tunic",
        hands=2,
    ),
    Character(
        "sprat",
        "Madame Ottoline Sprat",
        "Keeper of the Hotel Fortissimo, hen. Moves in threes: *look, look, walk*.",
        copies=3,
        begins=date(2025, 4, 7),
        kits="a",
        faces=6,
        poses_on=3,
        costume="apron",
    ),
    Character(
        "yost",
        "Uncle Jorlo",
        "Yodeller by appointment to the valley, marmot. Spoken by one voice and sung by another:\n"
        "\n- the breath belongs to the speaker,\n- the note belongs to the singer.",
        copies=3,
        begins=date(2025, 4, 22),
        kits="ab",
        faces=14,
        hair=True,
        costume="braces",
    ),
    Character(
        "bray",
        "Mayor Augustin Bray",
        "Donkey. Two watches, no time. The chain of office rattles in every frame: tie it down.",
        copies=2,
        begins=date(2025, 5, 12),
        kits="a",
        faces=6,
        costume="robe",
    ),
    Character(
        "stamm",
        "Peregrine Stamm",
        "Postman, stork. Four strides to the village. Legs are the rig.",
        copies=2,
        begins=date(2025, 5, 26),
        poses_on=1,
        costume="cape",
    ),
    Character(
        "prim",
        "Miss Prim Tuftwick",
        "Sheep, elder by a minute. Always the left of the two.",
        copies=2,
        begins=date(2025, 6, 10),
        hair=True,
    ),
    Character(
        "posy",
        "Miss Posy Tuftwick",
        "Sheep, younger by a minute. Knits what Prim unravels.",
        copies=2,
        begins=date(2025, 6, 17),
        hair=True,
    ),
    Character(
        "ullo",
        "Ullo",
        "Snail. Says nothing and gets there. *Do not speed him up in the cut.*",
        copies=2,
        begins=date(2025, 7, 1),
        poses_on=1,
        silent=True,
    ),
    Character(
        "piano",
        "The Piano",
        "An upright of uncertain age. No mouth, no eyes: everything is lid, pedal and castors.",
        copies=2,
        begins=date(2025, 7, 14),
        silent=True,
    ),
)
BY_CODE: dict[str, Character] = {c.code: c for c in CHARACTERS}

SMALL = {"tibb-6": "1:3", "yost-3": "1:3", "fugg-4": "1:3"}
"""Copies at a third of the size, for the wide sets: their faces are painted on. The others 1:1."""

LATE = {"tibb-5": date(2025, 12, 8), "tibb-6": date(2026, 1, 7), "echo-4": date(2026, 1, 12)}
"""Copies that were begun when the shoot was near, or on."""

RETIRED = {"tibb-3": date(2026, 4, 2), "fugg-2": date(2026, 3, 20), "sprat-2": date(2026, 3, 27)}

PUPPET_NOTES = {
    "tibb-1": "The *hero*. Left ear has been through two animators and a door.",
    "tibb-3": "Retired with honours: the knee gave up in the last week but two. In the tin with "
    "the [good screws](https://hospital.example/tin).",
    "tibb-6": "Small one, for the wide sets. No fork: it would need tweezers.",
    "echo-2": "Longest ears of the four. Not on purpose.",
    "fugg-2": "Left too near a lamp. *We do not speak of it before lunch.*",
    "piano-1": "The one with the working castors.",
    "piano-2": "The one that opens. Full set of hammers, **count them back**.",
    "ullo-1": "Shell is a real one, found by the caster, owner had left.",
}


def wears_faces(puppet: str) -> bool:
    """Whether a copy takes a face kit: its character has some, and it is not a small one."""
    return bool(BY_CODE[puppet.split("-")[0]].kits) and puppet not in SMALL


def puppets_of(code: str) -> list[str]:
    """The codes of a character's copies, in order."""
    return [f"{code}-{n}" for n in range(1, BY_CODE[code].copies + 1)]


def character_rows() -> list[Row]:
    """The characters table."""
    return [
        {
            "character": c.code,
            "name": c.name,
            "silent": "yes" if c.silent else "no",
            "note": c.note,
        }
        for c in CHARACTERS
    ]
