"""What a job leaves to an island, and how wide its ties are."""

import pytest
from shapely import box

from layercut.job import load_job
from layercut.model import Island, Layer
from layercut.stack.policies import (
    ALL_WAYS,
    allowed_ways,
    is_left_to_us,
    may_be_tied,
    policy_of,
    sheets_depend_on_each_other,
    tie_width_mm,
)

LEAF = Island("leaf", box(0, 0, 4, 4), (2.0, 2.0), 16.0, "path 'leaf'", aliases=("#k3f7q2m",))
ROSES = Layer("roses", ())


@pytest.mark.parametrize(
    ("policy", "ways", "left", "tied"),
    [
        ("auto", ALL_WAYS, True, True),
        ("refuse", (), False, False),
        ("tie", ("tie",), False, True),
        ("loose", ("loose",), False, False),
        ("behind", ("behind",), False, False),
    ],
)
def test_a_policy_leaves_these_ways(policy: str, ways: tuple[str, ...], left: bool, tied: bool) -> None:
    islands = load_job(None, [f"islands.policy={policy}"]).islands
    assert policy_of(islands, ROSES, LEAF) == policy
    assert allowed_ways(islands, ROSES, LEAF) == ways
    assert is_left_to_us(islands, ROSES, LEAF) == left
    assert may_be_tied(islands, ROSES, LEAF) == tied


def test_the_island_s_own_policy_wins_over_its_layer_s_and_that_over_the_job_s() -> None:
    of_layer = ["islands.policy=refuse", "islands.layers.roses.policy=tie"]
    assert policy_of(load_job(None, of_layer).islands, ROSES, LEAF) == "tie"
    assert policy_of(load_job(None, of_layer).islands, Layer("house", ()), LEAF) == "refuse"
    assert policy_of(load_job(None, [*of_layer, "islands.pieces.leaf=out"]).islands, ROSES, LEAF) == "out"


@pytest.mark.parametrize(
    ("settings", "depend"),
    [
        ([], False),
        (["islands.policy=refuse"], False),
        (["islands.policy=loose"], False),
        (["islands.policy=tie"], True),
        (["islands.policy=behind"], True),
        (["islands.layers.roses.policy=tie"], True),
        (["islands.pieces.leaf=out"], True),
        (["islands.pieces.leaf=loose"], False),
    ],
)
def test_only_visible_ties_and_what_leaves_change_other_sheets(settings: list[str], depend: bool) -> None:
    assert sheets_depend_on_each_other(load_job(None, settings).islands) == depend


@pytest.mark.parametrize(
    ("settings", "width"),
    [
        ([], 1.5),
        (["limits.neck=2mm"], 2.0),
        (["islands.tie_width=3mm"], 3.0),
        (["islands.tie_width=1mm", "limits.neck=2mm"], 2.0),
        (["limits.neck=0mm"], 1.5),
        (["limits.neck=0mm", "islands.tie_width=1mm"], 1.0),
    ],
)
def test_a_tie_is_as_wide_as_asked_and_never_narrower_than_a_neck(settings: list[str], width: float) -> None:
    job = load_job(None, settings)
    assert tie_width_mm(job.islands, job.limits) == width
