"""`layercut watch`: a page on this machine that follows every save of a drawing.

Enters: the paths of a drawing and its job file. Leaves: a page in the browser, and choices in the job file; nothing
else is ever written. The server stays light and answers at once; drawings are compiled in processes of their own.
"""
