"""What wood and machine cost: boards times price, hours times rate, told on the page and in the manifest alike."""

import json
from pathlib import Path

import pytest

from layercut.job import load_job
from layercut.model import Made
from layercut.output.manifest import manifest
from layercut.pipeline import compile_drawing
from layercut.views.pages.cost_words import cost_lines
from layercut.workplan import Cost

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">
<g id="sky"><rect width="100" height="80" fill="#a9cfe0"/></g>
<g id="hill"><path fill="#4c6c3b" d="M0 50L100 40V80H0Z"/></g></svg>"""
STOCK = ("material.stock_width=120mm", "material.stock_height=100mm")  # a board for each sheet


def made(tmp_path: Path, *settings: str) -> Made:
    path = tmp_path / "hill.svg"
    path.write_text(DRAWING)
    build = compile_drawing(path, load_job(None, settings))
    assert isinstance(build, Made)
    return build


def cost_of(build: Made) -> Cost:
    assert build.work.cost is not None
    return build.work.cost


def test_boards_and_hours_are_added_up(tmp_path: Path) -> None:
    build = made(tmp_path, *STOCK, 'material.price="4.50 EUR"', 'machine.rate="30 EUR"')
    cost = cost_of(build)
    assert build.boards is not None
    assert (cost.boards, cost.wood) == (2, 9.0)
    hours = sum(times.total_s for times in build.boards.times) / 3600
    assert cost.machine == pytest.approx(30 * hours)
    assert cost.total == pytest.approx(9 + 30 * hours, abs=0.006)
    told = dict(cost_lines(build))
    assert told["Cost of wood"] == "9.00 EUR: 2 boards at 4.50 EUR"
    assert told["Cost together"].startswith(f"{cost.total:.2f} EUR")
    document = json.loads(json.dumps(manifest(build)))["work"]["cost"]
    assert (document["currency"], document["boards"], document["wood"]) == ("EUR", 2, 9.0)
    assert document["total"] == pytest.approx(document["wood"] + document["machine"], abs=0.001)


def test_twice_the_price_is_twice_the_cost(tmp_path: Path) -> None:
    one = cost_of(made(tmp_path, *STOCK, 'material.price="2 kr"', 'machine.rate="50 kr"'))
    two = cost_of(made(tmp_path, *STOCK, 'material.price="4 kr"', 'machine.rate="100 kr"'))
    assert (two.wood, two.machine) == (2 * (one.wood or 0), pytest.approx(2 * (one.machine or 0)))


def test_without_boards_the_wood_is_not_guessed(tmp_path: Path) -> None:
    build = made(tmp_path, 'material.price="£3"', 'machine.rate="£20"')
    cost = cost_of(build)
    assert (cost.boards, cost.wood) == (None, None)
    assert cost.total == round(cost.machine or 0, 2) > 0
    told = dict(cost_lines(build))
    assert "material.stock_width" in told["Cost of wood"]
    assert "Cost together" not in told


def test_one_price_alone_is_told_alone(tmp_path: Path) -> None:
    build = made(tmp_path, *STOCK, 'material.price="3 EUR"')
    assert [name for name, _ in cost_lines(build)] == ["Cost of wood"]
    assert cost_of(build).total == 6


def test_without_a_price_nothing_is_said(tmp_path: Path) -> None:
    build = made(tmp_path, *STOCK)
    assert build.work.cost is None
    assert [*cost_lines(build)] == []
    assert manifest(build)["work"]["cost"] is None
