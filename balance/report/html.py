"""Blocks as one self-contained page: no network, no script."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from balance.report.blocks import Block, Bullets, Heading, Paragraph, Picture, Table
from balance.report.page import page, table


def html(title: str, blocks: Sequence[Block]) -> str:
    """The page with the usual cautions at its end."""
    return page(title, [_part(block, number) for number, block in enumerate(blocks)])


def _part(block: Block, number: int) -> str:
    match block:
        case Heading(text, level):
            return f"<h{level}>{escape(text)}</h{level}>"
        case Paragraph(text, strong):
            return f"<p>{f'<strong>{escape(text)}</strong>' if strong else escape(text)}</p>"
        case Bullets(items):
            return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in items) + "</ul>"
        case Table(header, rows, numbers):
            return table(header, rows, numbers)
        case Picture(svg, _, alt, caption):
            # Several pictures on one page: what they name inside must stay apart.
            own = (
                svg().replace('id="', f'id="p{number}-').replace('xlink:href="#', f'xlink:href="#p{number}-')
            )
            own = own.replace("url(#", f"url(#p{number}-")
            named = own.replace("<svg ", f'<svg role="img" aria-label="{escape(alt, quote=True)}" ', 1)
            return f"<figure>{named}<figcaption>{escape(caption)}</figcaption></figure>"
