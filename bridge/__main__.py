"""`python -m bridge` is the same command as `lampwright`."""

import sys

from bridge.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
