"""How heavy wood is, by its name in the job. Published weights: tests/outside/test_wood_weights.py."""

import pytest

from layercut.job import load_job
from layercut.planning.wood_density import FIBREBOARD_KG_M3, PLYWOOD_KG_M3, density_of, handbook_density


def density(name: str, *more: str) -> float:
    return density_of(load_job(None, [f'material.name="{name}"', *more]).material).kg_m3


def test_the_jobs_own_figure_wins() -> None:
    assert density("walnut", 'material.density="500kg/m3"') == 500


@pytest.mark.parametrize(
    ("name", "species"),
    [
        ("Black walnut, 3 mm", "black walnut"),
        ("walnut", "black walnut"),
        ("yellow birch plywood", "yellow birch"),
        ("American Basswood", "basswood"),
        ("white-oak", "white oak"),
    ],
)
def test_the_longest_name_of_the_table_that_stands_in_it(name: str, species: str) -> None:
    assert density(name) == handbook_density(species)


@pytest.mark.parametrize("name", ["3 mm MDF", "fibreboard", "walnut fiberboard"])
def test_fibreboard_is_fibreboard_whatever_it_looks_like(name: str) -> None:
    assert density(name) == FIBREBOARD_KG_M3


@pytest.mark.parametrize("name", ["birch plywood", "plywood", "oak", "walnuts", "mdfx"])
def test_what_the_table_lacks_weighs_as_birch_plywood_and_says_so(name: str) -> None:
    found = density_of(load_job(None, [f'material.name="{name}"']).material)
    assert found.kg_m3 == PLYWOOD_KG_M3
    assert "set material.density" in found.source
    assert ("names no wood" in found.source) == ("birch" not in name)
