"""The cautions that the product itself shows, word for word everywhere."""

from __future__ import annotations

from credits.text import fold_words

CREDITS_CAUTION = (
    "A draft until the production's legal department clears it: billing is governed by contracts, "
    "guild and union agreements and local law."
)
REVIEW_CAUTION = (
    "Footage depends on the shot, the number of characters, rigs, repairs and luck. Figures are "
    "not comparable across people without that context. Employment law, data-protection law and "
    "collective agreements govern their use."
)
MATERIALS_CAUTION = (
    "Natural-rubber latex can cause severe allergy; foam-latex curing gives off ammonia; urethane "
    "systems contain isocyanates; plaster, clay and silica dust and solvents harm the lungs. "
    "Follow the product's safety data sheet, local regulations and the site's qualified safety "
    "adviser."
)

# Crafts that work with these materials; a craft of the production's own in one of these
# departments is counted among them.
MATERIAL_CRAFTS = frozenset(
    {"maquette", "sculpt", "mould", "casting", "faces", "fabrication", "hair", "paint", "repair"}
)
MATERIAL_DEPARTMENTS = frozenset({"puppets", "faces", "puppet hospital"})


def is_of_materials(craft: str, department: str, builds: bool) -> bool:
    """Tell whether a craft works with such materials. builds: whether it is a build craft."""
    return craft in MATERIAL_CRAFTS or (builds and fold_words(department) in MATERIAL_DEPARTMENTS)
