"""The command line's top: its commands, each imported when it runs, so that --help is there at once."""

from __future__ import annotations

import typer

from balance.command_line import (
    analyse,
    calibrate,
    check,
    compare,
    demo,
    devices,
    export,
    figures,
    import_,
    live,
    measures,
    note,
    pack,
    place,
    record,
    reliability,
    repair,
    replay,
    report,
    sheet,
    simulate,
    start,
    verify_rig,
)
from balance.words import say

app = typer.Typer(
    help=say("help.bandstand"),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for module in (
    start,
    demo,
    live,
    record,
    devices,
    calibrate,
    verify_rig,
    place,
    sheet,
    replay,
    note,
    analyse,
    check,
    compare,
    reliability,
    measures,
    export,
    figures,
    import_,
    report,
    pack,
    simulate,
    repair,
):
    name = module.__name__.rsplit(".", 1)[1].rstrip("_").replace("_", "-")
    app.command(name, help=say(f"help.{name}"))(module.run)
