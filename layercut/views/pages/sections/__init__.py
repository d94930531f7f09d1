"""The traveller's sections about the work around the cut, each made by a module with a template of its own name.

Holds for all of them: no script, no style and no request; every name of the drawing and of the own paints is escaped;
each figure says where it comes from; text is in the page's own colours.
"""
