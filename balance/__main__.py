"""``bandstand`` and ``python -m balance``."""

from __future__ import annotations

import sys


def main() -> None:
    """Runs the command line; wrong input ends with a sentence and status 2, Ctrl-C with 130."""
    from balance.command_line.app import app
    from balance.command_line.output import report

    try:
        app(prog_name="bandstand")
    except KeyboardInterrupt:
        sys.exit(130)
    except Exception as error:
        if not report(error):
            raise
        sys.exit(2)


if __name__ == "__main__":
    main()
