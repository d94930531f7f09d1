"""Widths: how wide a region is on the way from anywhere to anywhere, from one triangulation.

Enters: regions, mm. Leaves: a `WidthGraph` (graph.py), whose nodes are triangles, whose links are the edges between
them, and whose widths are the edges' lengths; below the limit it is built for they are a rolling disc's own. Every
question about widths is then a threshold on the graph (levels.py).
"""
