"""CSS as far as it decides what is cut: style sheets, `style` and presentation attributes.

Enters: a drawing's tree. Leaves: `Style`, the computed values of each element (styles.py). properties.py has the
tables, fonts.py the words of fonts, limits.py what a style sheet may cost.
"""
