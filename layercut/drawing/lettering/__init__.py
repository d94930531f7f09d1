"""Lettering: live text, engraved and never cut.

Enters: a text element. Leaves: `Item`s with the role of a mark (text.py): letters are read (letters.py), set side by
side (typeset.py) with a font's outlines (shaping.py, fonts.py) or in single strokes (single_line.py).
"""
