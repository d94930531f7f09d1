"""Words about pots: every merge with its difference, every mix with its drops, and what to do first."""

from layercut.colour.merging import Merged
from layercut.views.pages.pot_words import merged_words, mix_words
from layercut.workplan import Colour, Drops, OwnMatch, OwnMix, Shades


def _colour(*merged: Merged) -> Colour:
    return Colour(1, "#8fc1de", "paint", Shades("#8fc1de", "#8fc1de", "#8fc1de"), 2, 1.0, 1.0, merged=merged)


def test_every_merge_is_told_with_its_difference() -> None:
    assert merged_words(_colour()) == ""
    words = merged_words(_colour(Merged("#91c2de", "#8fc1de", 0.94), Merged("#8fc0d0", "#8fc1de", 1.2)))
    assert words == "also for #91c2de (differs by 0.9), #8fc0d0 (differs by 1.2)"


def test_a_mix_says_its_drops_and_to_try_it() -> None:
    parts = (Drops("linen", "#efe6d2", 5), Drops("navy", "#1f3a6b", 2), Drops("moss", "#4f7d3a", 1))
    two, three = OwnMix(parts[:2], "#6f8fa0", 1.2), OwnMix(parts, "#6f8fa0", 0.8)
    assert mix_words(OwnMatch("navy", "#1f3a6b", 9.0)) == ""
    assert mix_words(OwnMatch("navy", "#1f3a6b", 9.0, two)) == (
        "nearer: mix 5 drops of linen and 2 of navy, about #6f8fa0 (differs by 1.2); try it on scrap first"
    )
    assert "5 drops of linen, 2 of navy and 1 of moss" in mix_words(OwnMatch("navy", "#1f3a6b", 9.0, three))
