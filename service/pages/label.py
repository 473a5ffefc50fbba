"""The label of a unit: a code, and the tag below it for people."""

from html import escape

from service.pages.code import code

MODULE = 0.6
"""Millimetres: what readers in hand read at arm's length, from memory."""
TEXT = 4.0
"""The largest letters, in modules of the code."""
WIDTH = 0.62
"""How wide a letter of any monospaced face is, of its size: a little more than most have, from memory."""
SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}mm" height="{height:.1f}mm" viewBox="0 0 {size} {tall}">
<title>{tag}</title>
<rect width="{size}" height="{tall}" fill="#fff"/>
<path d="{path}" fill="#000" shape-rendering="crispEdges"/>
<text x="{middle}" y="{line}" font-family="monospace" font-size="{letter:.2f}" text-anchor="middle">{tag}</text>
</svg>
"""


def label(tag: str, text: str) -> str:
    """Draw the label of a tag with a code that says the text."""
    path, size = code(text)
    tall = size + TEXT + 1
    return SVG.format(
        width=size * MODULE,
        height=tall * MODULE,
        size=size,
        tall=tall,
        tag=escape(tag),
        path=path,
        middle=size / 2,
        line=size + TEXT / 2,
        letter=min(TEXT, (size - 2) / (WIDTH * len(tag))),
    )
