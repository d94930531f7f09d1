"""Line work: layers that are drawn only in lines.

Enters: the items of such a layer. Leaves: its shapes (layers.py), whose wood is what the lines enclose (faces.py).
"""
