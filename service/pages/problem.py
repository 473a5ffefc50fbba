"""The page that explains a kind of problem: what its type addresses (RFC 9457 section 3.1.1)."""

from collections.abc import Mapping
from html import escape

from service.pages.advice import ADVICE
from service.problems import ROWS

PAGE = """<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{title}</title>
<style>body {{ font: 1rem/1.5 sans-serif; max-width: 42rem; margin: 2rem auto; padding: 0 1rem }}</style>
<h1>{title}</h1>
{body}
</html>
"""
ITEM = '<li><a href="/problems/{code}">{code}</a>: {title} ({status})</li>'


def told(code: str) -> Mapping[str, object] | None:
    """Tell a kind of problem; None where there is none of that code."""
    row = ROWS.get(code)
    if row is None:
        return None
    return {"type": f"/problems/{code}", "title": row.title, "status": row.status, "what_to_do": ADVICE[code]}


def page(code: str) -> str:
    """Draw the page of one kind; it must exist."""
    row = ROWS[code]
    body = [
        f"<p>Problem <code>{escape(code)}</code>, answered with status {row.status}.</p>",
        f"<h2>What to do</h2>\n<p>{marked(ADVICE[code])}</p>",
        '<p><a href="/problems">All problems</a></p>',
    ]
    return PAGE.format(title=escape(row.title), body="\n".join(body))


def contents() -> str:
    """Draw the page that lists every kind."""
    items = [ITEM.format(code=code, title=escape(row.title), status=row.status) for code, row in sorted(ROWS.items())]
    return PAGE.format(title="Problems", body="<ul>\n{}\n</ul>".format("\n".join(items)))


def marked(text: str) -> str:
    """Set what stands between backticks as code."""
    parts = escape(text).split("`")
    return "".join(f"<code>{part}</code>" if nth % 2 else part for nth, part in enumerate(parts))
