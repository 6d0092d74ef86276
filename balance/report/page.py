"""A self-contained page: title, parts, cautions; readable on paper and on a telephone."""

from __future__ import annotations

from html import escape

from balance.words import language, say

STYLE = """
body { font: 16px/1.5 'DejaVu Sans', sans-serif; color: #1d222b; background: #fff; margin: 0 auto; max-width: 62rem; padding: 1rem 1.2rem 3rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.25rem; margin: 1.6rem 0 .4rem; } h3 { font-size: 1.05rem; margin: 1.6rem 0 .2rem; }
table { border-collapse: collapse; margin: .4rem 0 1rem; } th, td { text-align: left; padding: .2rem .8rem .2rem 0; border-bottom: 1px solid #cdc7b8; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; }
figure { margin: .6rem 0 1.2rem; } figcaption { color: #5d6470; } svg { max-width: 100%; height: auto; }
.scroll { overflow-x: auto; } footer { color: #5d6470; font-size: .85rem; border-top: 1px solid #cdc7b8; margin-top: 2rem; padding-top: .5rem; }
@media print { body { padding: 0; } h2, figure, table { break-inside: avoid; } }
"""


def page(title: str, parts: list[str]) -> str:
    """The page as text; parts are HTML already."""
    cautions = "".join(f"<li>{escape(say(f'caution.{i}'))}</li>" for i in range(1, 9))
    return (
        f'<!doctype html>\n<html lang="{language()}"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{STYLE}</style></head>\n'
        f"<body><main><h1>{escape(title)}</h1>\n"
        + "\n".join(parts)
        + f"\n</main><footer><h2>{escape(say('caution.title'))}</h2><ul>{cautions}</ul></footer></body></html>\n"
    )


def heading(text: str) -> str:
    return f"<h2>{escape(text)}</h2>"


def paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def table(header: list[str], rows: list[list[str]], numbers: int = 0) -> str:
    """A table; the columns from ``numbers`` on are numbers, set to the right."""

    def cells(row: list[str], tag: str) -> str:
        kind = ' scope="col"' if tag == "th" else ""
        return "".join(
            f"<{tag}{kind}{' class=number' if i >= numbers else ''}>{escape(cell)}</{tag}>"
            for i, cell in enumerate(row)
        )

    body = "".join(f"<tr>{cells(row, 'td')}</tr>" for row in rows)
    return f"<div class=scroll><table><thead><tr>{cells(header, 'th')}</tr></thead><tbody>{body}</tbody></table></div>"


def figure(svg: str, caption: str) -> str:
    return f"<figure>{svg}<figcaption>{escape(caption)}</figcaption></figure>"
