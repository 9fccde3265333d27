"""The crafts that every production begins with; its crafts table extends or renames them."""

from __future__ import annotations

from credits.model.facts import Craft, Kind

_PERFORMANCE = (
    ("voice", "Voice", "Voices"),
    ("singing", "Singing voice", "Voices"),
    ("track-reading", "Track reading", "Animation"),
    ("lip-sync", "Lip sync", "Animation"),
    ("animation", "Animation", "Animation"),
    ("animation-assist", "Animation assistance", "Animation"),
    ("rigging", "Rigging", "Rigging"),
)
_BUILD = (
    ("design", "Character design", "Art"),
    ("maquette", "Maquette sculpting", "Puppets"),
    ("sculpt", "Puppet sculpting", "Puppets"),
    ("armature", "Armature making", "Puppets"),
    ("mould", "Mould making", "Puppets"),
    ("casting", "Casting", "Puppets"),
    ("faces", "Replacement faces", "Faces"),
    ("fabrication", "Puppet fabrication", "Puppets"),
    ("costume", "Costume making", "Puppets"),
    ("hair", "Hair and fur", "Puppets"),
    ("paint", "Puppet painting", "Puppets"),
    ("repair", "Puppet repair", "Puppet hospital"),
)

BUILT_IN_CRAFTS: tuple[Craft, ...] = tuple(
    Craft(code, name, department, kind, footage=code == "animation", repair=code == "repair")
    for kind, crafts in ((Kind.PERFORMANCE, _PERFORMANCE), (Kind.BUILD, _BUILD))
    for code, name, department in crafts
)
