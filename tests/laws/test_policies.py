"""The laws of islands under every policy, on random scenes.

Regions tile, each piece hangs or has a name, what is loose is carried, ties are whole, the proof holds, and the same
input gives the same bytes. tests/bench/policies.py tries thousands of scenes.
"""

from random import Random

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from policy_laws import broken_laws
from random_scenes import FIRST_POLICIES, random_scene, random_settings

from layercut.job import load_job


# Shrinking a scene of a hundred choices takes minutes; the bench prints seeds instead.
@settings(max_examples=10, phases=[Phase.explicit, Phase.generate])
@given(chance=st.randoms(use_true_random=False), policy=st.sampled_from(["auto", "refuse", "tie", "loose", "behind"]))
def test_no_law_is_broken_under_any_policy(chance: Random, policy: str) -> None:
    scene, chosen = random_scene(chance), random_settings(chance)
    assert broken_laws(scene, load_job(None, [*chosen, f"islands.policy={policy}"])) == []


FOUND = {
    9: "a tie without a limit and without a width of its own had no wood at all",
    16: "round corners left slivers of wood in the opening",
    45: "a piece over nothing was carried when no contact was asked for",
    771: "a snip went into the frame",
    814: "hidden wood that was dropped took some of the frame with it",
    997: "a riser lay nearer to the frame than the beam can part",
    1811: "ground grown by a hair crossed itself, and slips could not be worked out",
    1233: "hidden wood that was dropped took 2 mm2 of the frame with it",
    68: "a drawn sliver half a thousandth of a millimetre wide came loose",
    1463: "a hidden crumb hung by less than rounding leaves",
    529: "a thread was taken away whole, though a tie held what hung by it",
    621: "a thread between two loose pieces was taken away whole, not parted",
    979: "a scrap of 0.01 mm2 between four corners was left out, but still expected",
    1722: "a riser of hidden wood that fell away lay over another one, far from the piece it carries",
    349: "all of a sheet's lines were points once they were rounded",
    1344: "a slit through a neck took more of the picture than the beam needs",
    957: "wood was given back to a piece that it didn't reach",
    1593: "a loose piece that was given wood back kept its old outline",
}


@pytest.mark.parametrize("seed", FOUND, ids=str)
def test_scenes_that_once_broke_a_law(seed: int) -> None:
    chance = Random(seed)
    scene, chosen = random_scene(chance), random_settings(chance, FIRST_POLICIES)
    assert broken_laws(scene, load_job(None, chosen)) == [], FOUND[seed]
