"""Options of every command that opens a window: the language, and how large the screen is."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from balance.words import say, speak


class Tongue(StrEnum):
    """The catalogues there are; a test holds them to balance.words."""

    english = "en"
    german = "de"


Language = Annotated[Tongue | None, typer.Option("--language", help=say("help.language"))]
ScreenMm = Annotated[float | None, typer.Option("--screen-mm", min=80, max=3000, help=say("help.screen-mm"))]


def speaking(language: Tongue | None) -> None:
    """From now on in that language; without one as before."""
    if language is not None:
        speak(language.value)
