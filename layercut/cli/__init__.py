"""The commands. The only package that prints or exits.

Enters: the command line. Leaves: results on standard output, all that is for people's eyes on standard error, and
an exit code (`cli/exits.py`).
"""

from layercut.cli.entry import main

__all__ = ["main"]
