"""``python3 -m companion``: the same as the command ``companion``."""

from __future__ import annotations

import sys

from companion.command_line import main

if __name__ == "__main__":
    # the guard matters: a spawned worker process imports this module again
    sys.exit(main())
