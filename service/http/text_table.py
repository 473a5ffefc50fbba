"""Tables for the terminal: columns of even width, numbers to the right."""

from collections.abc import Sequence

GAP = "  "


def drawn(title: str, heads: Sequence[str], lines: Sequence[Sequence[str]], total: Sequence[str]) -> bytes:
    """Draw a table with a title and a last line of its own. A column whose total is a number stands to the right."""
    widths = [max(len(line[place]) for line in (heads, *lines, total)) for place in range(len(heads))]
    to_the_right = [text[:1].isdigit() or text == "-" for text in total]

    def row(line: Sequence[str]) -> str:
        cells = (
            text.rjust(width) if right else text.ljust(width)
            for text, width, right in zip(line, widths, to_the_right, strict=True)
        )
        return GAP.join(cells).rstrip()

    rule = "-" * (sum(widths) + len(GAP) * (len(heads) - 1))
    return "\n".join([title, "", row(heads), rule, *map(row, lines), rule, row(total), ""]).encode()
