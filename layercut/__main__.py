"""`python -m layercut`: the same as the command `layercut`."""

import sys

from layercut.cli import main

if __name__ == "__main__":
    sys.exit(main())
