"""Blocks as a PDF on A4 or Letter, by a library that needs no system packages."""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from balance.report.blocks import Block, Bullets, Heading, Paragraph, Picture, Table
from balance.words import say

if TYPE_CHECKING:
    from fpdf import FPDF

FONT = "DejaVu"
TEXT_PT = 10
SIZES = {1: 18, 2: 14, 3: 11.5}
KEEP_MM = {1: 30.0, 2: 30.0, 3: 125.0}  # of what follows a heading stays with it: a trial's with its picture
WIDEST_MM = 170.0  # narrower, the letters in the pictures would be smaller than 9 points


def pdf(title: str, blocks: Sequence[Block], paper: Literal["a4", "letter"] = "a4") -> bytes:
    """The same blocks as the page, with the usual cautions at the end."""
    document = _document(title, paper)
    for block in [Heading(title, 1), *blocks, Heading(say("caution.title")), Bullets([say(f"caution.{i}") for i in range(1, 9)])]:  # fmt: skip
        _add(document, block)
    return bytes(document.output())


def _document(title: str, paper: str) -> FPDF:
    import matplotlib as mpl
    from fpdf import FPDF

    class Numbered(FPDF):
        def footer(self) -> None:
            self.set_y(-12)
            self.set_font(FONT, size=8)
            self.set_text_color(93, 100, 112)
            self.cell(0, 6, say("report.page", title=title, page=self.page_no()), align="C")
            self.set_text_color(29, 34, 43)

    document = Numbered(format=paper)
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    document.add_font(FONT, "", fonts / "DejaVuSans.ttf")
    document.add_font(FONT, "B", fonts / "DejaVuSans-Bold.ttf")
    document.set_title(title)
    document.set_lang("en")
    document.set_auto_page_break(auto=True, margin=16)
    document.set_margin(15)
    document.add_page()
    document.set_text_color(29, 34, 43)
    document.set_font(FONT, size=TEXT_PT)
    return document


def _add(document: FPDF, block: Block) -> None:
    match block:
        case Heading(text, level):
            if document.will_page_break(KEEP_MM[level]):
                document.add_page()
            document.ln(3)
            document.set_font(FONT, "B", SIZES[level])
            document.multi_cell(0, SIZES[level] * 0.5, text, align="L", new_x="LMARGIN", new_y="NEXT")
            document.set_font(FONT, size=TEXT_PT)
            document.ln(1)
        case Paragraph(text, strong):
            document.set_font(FONT, "B" if strong else "", TEXT_PT)
            document.multi_cell(0, 5, text, align="L", new_x="LMARGIN", new_y="NEXT")
            document.set_font(FONT, size=TEXT_PT)
            document.ln(1)
        case Bullets(items):
            for item in items:
                document.multi_cell(0, 5, f"•  {item}", align="L", new_x="LMARGIN", new_y="NEXT")
            document.ln(1)
        case Table(header, rows, numbers):
            _table(document, header, rows, numbers)
        case Picture(_, make_png, alt, caption):
            png = make_png()
            width = min(document.epw, WIDEST_MM)
            wide, high = struct.unpack(">II", png[16:24])  # a PNG's own size stands there
            if document.will_page_break(width * high / wide + 10):
                document.add_page()
            document.image(io.BytesIO(png), w=width, alt_text=alt)
            document.set_font(FONT, size=8.5)
            document.multi_cell(0, 4.3, caption, align="L", new_x="LMARGIN", new_y="NEXT")
            document.set_font(FONT, size=TEXT_PT)
            document.ln(2)


def _table(document: FPDF, header: list[str], rows: list[list[str]], numbers: int) -> None:
    """Columns as wide as their longest entries ask for, within the page."""
    from fpdf.enums import TableBordersLayout
    from fpdf.fonts import FontFace

    document.set_font(FONT, size=9)
    wide = [max(min(len(row[k]), 60) for row in [header, *rows]) + 3 for k in range(len(header))]
    align = tuple("RIGHT" if k >= numbers else "LEFT" for k in range(len(header)))
    with document.table(
        borders_layout=TableBordersLayout.HORIZONTAL_LINES, col_widths=tuple(wide), text_align=align, line_height=4.6,
        headings_style=FontFace(emphasis="BOLD"), padding=0.8,
    ) as table:  # fmt: skip
        for cells in [header, *rows]:
            row = table.row()
            for cell in cells:
                row.cell(cell)
    document.set_font(FONT, size=TEXT_PT)
    document.ln(2)
