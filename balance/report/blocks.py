"""What a report is made of; one list of blocks becomes a page (HTML) or a PDF."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Heading:
    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    text: str
    strong: bool = False


@dataclass(frozen=True)
class Bullets:
    items: list[str]


@dataclass(frozen=True)
class Table:
    """numbers: the columns from there on are numbers, set to the right."""

    header: list[str]
    rows: list[list[str]]
    numbers: int = 99


@dataclass(frozen=True)
class Picture:
    """svg for the page, png for the PDF, each made when it is asked for; alt says in words what is to be seen."""

    svg: Callable[[], str]
    png: Callable[[], bytes]
    alt: str
    caption: str


Block = Heading | Paragraph | Bullets | Table | Picture
