"""A sheet of labels: a page for a printer, A4 or any other paper."""

from collections.abc import Iterable
from html import escape

PAGE = """<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Labels</title>
<style>
@page {{ size: A4; margin: 10mm }}
body {{ margin: 0; font: 1rem/1.5 sans-serif }}
main {{ display: flex; flex-wrap: wrap; gap: 4mm }}
figure {{ margin: 0; padding: 1mm; outline: 0.2mm dashed #999; break-inside: avoid }}
svg {{ display: block }}
@media print {{ aside {{ display: none }} }}
</style>
<aside>{hint}</aside>
<main>
{labels}</main>
</html>
"""
PRINT = "Print at full size (100 %), then try a reader on one label before all are stuck on."
MORE = " More follow: ask for the next sheet with <code>after={last}</code>."


def sheet(labels: Iterable[str], last: str | None) -> str:
    """Draw the sheet of labels that are drawn already; `last` is the tag behind which more follow, if more do."""
    hint = PRINT + ("" if last is None else MORE.format(last=escape(last)))
    return PAGE.format(hint=hint, labels="".join(f"<figure>{label}</figure>\n" for label in labels))
