"""`python -m vibcal_nb`."""

import sys

from vibcal_nb.running.commands.cli import main

if __name__ == "__main__":
    sys.exit(main())
