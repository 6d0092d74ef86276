"""What can go wrong with a board, each with a code whose sentence stands in the catalogue."""

from __future__ import annotations


class BoardError(Exception):
    """Root of the tree. ``code`` names the sentence, ``facts`` fill its places; ``str`` is for logs."""

    code = "error.board"

    def __init__(self, **facts: str | int | float) -> None:
        self.facts = facts
        super().__init__(f"{self.code}: " + ", ".join(f"{k}={v}" for k, v in facts.items()))


class PortNotFound(BoardError):
    """There is no such port: unplugged, or another name."""

    code = "error.port-not-found"


class PortBusy(BoardError):
    """Another program has the port."""

    code = "error.port-busy"


class NoPermission(BoardError):
    """The user may not open the port."""

    code = "error.no-permission"


class WrongBoard(BoardError):
    """Nothing answered as a board within the time, or it is not the board that was there before."""

    code = "error.wrong-board"


class WrongVersion(BoardError):
    """The board speaks another major version of the wire format."""

    code = "error.wrong-version"


class LostLink(BoardError):
    """The board was there and is silent now."""

    code = "error.lost-link"
