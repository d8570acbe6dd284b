"""Words on the command line go to the commands; none, or a file, opens the screen."""

from __future__ import annotations

import sys


def main() -> int:
    """The `earloop` command."""
    from earloop.cli.commands import main as run

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
