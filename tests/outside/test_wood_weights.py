"""Densities of named woods against the Wood Handbook, and weights worked out from them.

USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), table 5-3a (specific gravity at 12 % moisture);
density by FPL-GTR-282 (2021), equation 4-14, whose table 4-6a prints 672 kg/m3 for G = 0.60 at 12 %.
"""

import pytest
from shapely import box

from layercut.job import load_job
from layercut.model import OrderedSheet
from layercut.planning.hanging import plan_hanging
from layercut.planning.wood_density import MOISTURE, density_of, handbook_density
from layercut.sheets.smoothing import smooth_sheets
from layercut.stack.panel import make_panel


@pytest.mark.parametrize(
    ("species", "kg_m3"),
    [
        ("basswood", 414.4),
        ("yellow birch", 694.4),
        ("red maple", 604.8),
        ("sugar maple", 705.6),
        ("black walnut", 616.0),
        ("black cherry", 560.0),
        ("white oak", 761.6),
        ("yellow poplar", 470.4),
    ],
)
def test_density_of_a_species(species: str, kg_m3: float) -> None:
    assert handbook_density(species) == pytest.approx(kg_m3, abs=0.05)


def test_the_printed_anchor_of_the_formula() -> None:
    assert pytest.approx(672) == 1000 * 0.60 * (1 + MOISTURE)


@pytest.mark.parametrize(
    ("name", "grams"),
    [("3 mm birch plywood", 122.4), ("Yellow birch", 125.0), ("American basswood", 74.6)],
)
def test_a_board_of_300_by_200_by_3_mm(name: str, grams: float) -> None:
    job = load_job(None, [f'material.name="{name}"'])
    board = box(0, 0, 300, 200)
    sheets = smooth_sheets([OrderedSheet("board", "layer", "sheets/01.svg", 1, board, (), (), (), board)], job)
    assert plan_hanging(make_panel(300, 200, job), sheets, job.hanging, job.material).mass_g == pytest.approx(
        grams, abs=0.05
    )


@pytest.mark.parametrize(
    ("name", "kg_m3", "word"),
    [
        ("walnut", 616.0, "walnut"),
        ("Cherry, 4 mm", 560.0, "cherry"),
        ("yellow-poplar", 470.4, "poplar"),
        ("walnut plywood", 616.0, "black walnut"),
        ("basswood plywood", 414.4, "basswood"),
        ("3 mm Basswood-Plywood, good one side", 414.4, "basswood"),
        ("yellow birch plywood", 694.4, "yellow birch"),
        ("birch plywood", 680.0, "birch plywood"),
        ("poplar plywood", 680.0, "'poplar plywood' names no wood of the table"),
        ("MDF", 700.0, "fibreboard"),
        ("plywood", 680.0, "plywood"),
        ("driftwood", 680.0, "for another, set material.density"),
    ],
)
def test_which_wood_a_name_means(name: str, kg_m3: float, word: str) -> None:
    found = density_of(load_job(None, [f'material.name="{name}"']).material)
    assert found.kg_m3 == pytest.approx(kg_m3)
    assert word in found.source


def test_the_jobs_own_density_wins() -> None:
    found = density_of(load_job(None, ["material.name=walnut", "material.density=0.5g/cm3"]).material)
    assert (found.kg_m3, found.source) == (500, "set in the job file")
