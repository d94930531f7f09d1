"""Words about pots: which drawn colours one stands for, and how to mix one from the maker's own paints.

Enters: parts of the paint plan. Leaves: phrases for the page, empty where there is nothing to say.
"""

from layercut.workplan import Colour, OwnMatch

SCRAP = "try it on scrap first"
"""Stands beside every mix: a prediction from colours on a screen."""


def merged_words(colour: Colour) -> str:
    """For which drawn colours a pot stands too, each with its difference (CIEDE2000)."""
    if not colour.merged:
        return ""
    return "also for " + ", ".join(f"{one.colour} (differs by {one.difference:.1f})" for one in colour.merged)


def mix_words(match: OwnMatch) -> str:
    """The mix that comes nearer than the nearest paint: drops of each, the colour to expect, its difference."""
    if match.mix is None:
        return ""
    first, *others = match.mix.parts
    drops = f"{first.drops} {'drop' if first.drops == 1 else 'drops'} of {first.name}"
    rest = [f"{part.drops} of {part.name}" for part in others]
    parts = " and ".join([", ".join([drops, *rest[:-1]]), rest[-1]])
    return f"nearer: mix {parts}, about {match.mix.colour} (differs by {match.mix.difference:.1f}); {SCRAP}"
