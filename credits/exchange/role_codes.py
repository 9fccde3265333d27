"""What the open lists of roles call our crafts.

MARC relators; the FIAF Glossary of Filmographic Terms; the EBU role codes. No list has every craft:
where one has only something near it says so, and where it has nothing it says none. Our own name
of the craft always stands beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

MARC, FIAF, EBU = "MARC relators", "FIAF Glossary of Filmographic Terms", "EBU role codes"
MARC_NAMESPACE = "http://id.loc.gov/vocabulary/relators/"
NONE = "none"

VOICES = frozenset({"voice", "singing"})


@dataclass(frozen=True, slots=True)
class RoleCode:
    """One term of a list. ``near``: it is the nearest there is, not the same."""

    code: str
    term: str
    near: bool = False

    @property
    def text(self) -> str:
        """``anm animator``; ``near B.13.17 ModelMaker``."""
        return f"{'near ' if self.near else ''}{self.code} {self.term}"


_Codes = Mapping[str, RoleCode]

_ANIMATOR: _Codes = {
    MARC: RoleCode("anm", "animator"),
    FIAF: RoleCode("B.13.11", "Animator"),
    EBU: RoleCode("4.19", "animator"),
}
_NEAR_ANIMATOR: _Codes = {k: RoleCode(c.code, c.term, near=True) for k, c in _ANIMATOR.items()}
_MODEL_MAKER: _Codes = {
    FIAF: RoleCode("B.13.17", "ModelMaker", near=True),
    EBU: RoleCode("4.36", "model maker", near=True),
}

ROLE_CODES: Mapping[str, _Codes] = {
    "voice": {MARC: RoleCode("vac", "voice actor"), FIAF: RoleCode("B.7.7", "Voices")},
    "singing": {MARC: RoleCode("sng", "singer"), FIAF: RoleCode("B.11.8", "SingingVoice")},
    "animation": _ANIMATOR,
    "animation-assist": _NEAR_ANIMATOR,
    "rigging": {FIAF: RoleCode("B.8.3", "MechanicalEffects", near=True)},
    "design": {FIAF: RoleCode("B.13.14", "CharacterDesigner")},
    "maquette": {MARC: RoleCode("scl", "sculptor"), **_MODEL_MAKER},
    "sculpt": {MARC: RoleCode("scl", "sculptor"), **_MODEL_MAKER},
    "armature": _MODEL_MAKER,
    "mould": {EBU: RoleCode("13.2.9", "mold maker")},
    "casting": {MARC: RoleCode("cas", "caster")},
    "faces": _MODEL_MAKER,
    "fabrication": _MODEL_MAKER,
    "costume": {
        MARC: RoleCode("cst", "costume designer", near=True),
        FIAF: RoleCode("B.6.17", "CostumeMaker"),
    },
    "hair": {FIAF: RoleCode("B.6.20", "HairStylist", near=True)},
}
LISTS = (MARC, FIAF, EBU)


def role_code(craft: str, of: str) -> RoleCode | None:
    """What a list calls a craft; None where it has nothing like it."""
    return ROLE_CODES.get(craft, {}).get(of)


def role_text(craft: str, of: str) -> str:
    """The same in words; ``none`` where the list has nothing like it."""
    code = role_code(craft, of)
    return code.text if code else NONE
