"""`python -m wetside` is `wetside`."""

from __future__ import annotations

import sys

from wetside.cli import main

if __name__ == "__main__":
    sys.exit(main())
