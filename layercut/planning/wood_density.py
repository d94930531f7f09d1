"""How heavy wood is, by the name the job gives it.

Enters: the job's `material`. Leaves: a `Density` with where it comes from.
"""

import re
from dataclasses import dataclass

from layercut.job_tables import MaterialJob

MOISTURE = 0.12
"""Moisture content of wood that has been in a room for long, parts of its dry mass; that of the handbook's table."""

WOOD_HANDBOOK = {
    "basswood": 0.37,
    "yellow birch": 0.62,
    "red maple": 0.54,
    "sugar maple": 0.63,
    "black walnut": 0.55,
    "black cherry": 0.50,
    "white oak": 0.68,
    "yellow poplar": 0.42,
}
"""Specific gravity at 12 % moisture: dry mass over volume as it is, relative to water. USDA Forest Products
Laboratory, Wood Handbook, FPL-GTR-190 (2010), table 5-3a."""

OTHER_NAMES = {"american basswood": "basswood", "walnut": "black walnut", "cherry": "black cherry"}
"""Names that the trade uses for one species of the table only."""

PLYWOOD_KG_M3 = 680.0
"""Birch plywood, and what is taken where nothing is known. A supplier's data sheet to EN 13986 gives means of 660
(4 mm), 670 (6.5), 710 (9), 695 (12), 685 (18) and 680 kg/m3 (21 to 24); their mean, 683, is rounded here."""

FIBREBOARD_KG_M3 = 700.0
"""Medium density fibreboard: encyclopedias give 600 to 800 as usual; the middle of that is our own choice."""


@dataclass(frozen=True, slots=True)
class Density:
    """How heavy the wood is, kg/m3, and in words where the figure comes from."""

    kg_m3: float
    source: str


def density_of(material: MaterialJob) -> Density:
    """The job's own density, else that of the wood whose longest name stands in the material's, else birch plywood's.

    A plywood is taken to weigh what its wood does: layers of one species, and little glue.
    """
    if material.density is not None:
        return Density(material.density, "set in the job file")
    words = " ".join(re.findall(r"[a-z]+", material.name.lower()))
    if re.search(r"\b(mdf|fibreboard|fiberboard)\b", words):
        return Density(FIBREBOARD_KG_M3, "taken for fibreboard, usually 600 to 800 kg/m³")
    species = _species_in(words)
    if species is not None:
        return Density(handbook_density(species), f"taken for {species}: Wood Handbook (FPL-GTR-190), table 5-3a")
    named = re.search(r"\bbirch\b", words)
    taken = "taken for birch plywood" if named else f"'{material.name}' names no wood of the table; birch plywood"
    source = f"{taken}, 660 to 710 kg/m³ by a supplier's data sheet; for another, set material.density"
    return Density(PLYWOOD_KG_M3, source)


def _species_in(words: str) -> str | None:
    """The species of the table whose name, the longest, stands among words; None for no name, or only part of one."""
    names = {name: name for name in WOOD_HANDBOOK} | OTHER_NAMES
    for name in sorted(names, key=len, reverse=True):
        if re.search(rf"\b{name}\b", words):
            return names[name]
    return None


def handbook_density(species: str) -> float:
    """kg/m3 of a species of the table at 12 % moisture: 1000 G (1 + M) (Wood Handbook, FPL-GTR-282, equation
    4-14)."""
    return 1000.0 * WOOD_HANDBOOK[species] * (1 + MOISTURE)
