"""``bandstand`` and ``python -m balance``."""

from __future__ import annotations

import sys


def main() -> None:
    """Runs the command line; wrong input ends with a sentence and status 2, Ctrl-C with 130."""
    from balance.command_line.alone import stranger
    from balance.command_line.app import app
    from balance.command_line.output import report

    other = None if "--help" in sys.argv else stranger()
    if other is not None:
        sys.stderr.write(other + "\n")
        sys.exit(2)
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
