"""earloop some days on: `python -m tests.weeks.days_ahead DAYS WORDS...` is the program with a later calendar."""

from __future__ import annotations

import sys
from datetime import timedelta

from earloop.cli.commands import main
from earloop.journal import moment

if __name__ == "__main__":
    moment.SHIFT = timedelta(days=int(sys.argv[1]))
    sys.exit(main(sys.argv[2:]))
