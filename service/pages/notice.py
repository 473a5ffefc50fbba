"""The notice of a recall: a page a site, for a printer."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from html import escape
from typing import Final

from service.assessing.recall_notice import Called, Notice, NoticeUnit, SiteNotice
from service.assessing.recall_told import OpeningSaid, RecallSaid
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.recall.asks import Asks
from service.domain.recall.impact import Sitting
from service.domain.recall.spare import Spare

PAGE: Final = """<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Recall {recall}</title>
<style>
@page {{ size: A4; margin: 15mm }}
body {{ font: 1rem/1.4 sans-serif; max-width: 60rem; margin: 1rem auto; padding: 0 1rem; overflow-wrap: anywhere }}
section + section {{ break-before: page }}
table {{ border-collapse: collapse; width: 100% }}
th, td {{ border: 0.2mm solid; padding: 1mm 2mm; text-align: left; vertical-align: top }}
thead {{ display: table-header-group }}
tr {{ break-inside: avoid }}
.sign td {{ height: 9mm }}
.said {{ white-space: pre-line }}
footer {{ font-size: 0.85rem; margin-top: 1rem }}
</style>
{sections}</html>
"""
DO: Final[dict[Action, str]] = {
    "stop-use": "Stop using these units at once. Take each from whoever has it, put it away where nobody takes it by "
    "mistake, and record where it is put away. Ordered is not put away.",
    "rectify-by": "Have each of these units put right as the maker says, {by}, and record what was done.",
    "inspect": "Have a competent person inspect each of these units, {by}, and record what was found.",
    "information": "Read this and tell those who use these units. No unit is taken out of use for it.",
}
DIFFERS: Final = "Not all of these units are to be dealt with alike: what to do stands above each list."
STOCK: Final = "Put this stock aside, so that none of it is fitted. Stock that may be of any lot is put aside, too."
KEPT: Final = "This stock is meant, too. It stays in use."
REHEARSAL: Final = (
    "Rehearsal. Nothing is known to be wrong with these units. Find them as if it were so, and record it."
)
CLOSED: Final = "It was closed on {at}: what is found later is not measured."
ENDED: Final = "The campaign was closed on {at}; units not dealt with stay under it."
OPENED: Final = "Opened on {at}."
TAKEN_BACK: Final = "It was taken back on {at}: what it reached by then is examined first."
UNSAID: Final = "No words of the notice are on record here: ask whoever opened the recall."
WITHHELD: Final = "This key reads no free text: ask whoever opened the recall for the words of the notice."
CAUTION: Final = (
    "The service keeps records and reminds; it does not make a unit safe. A unit that fails a check is not used. An "
    "alarm in use means: leave the area. The maker's instructions, local law and a competent person decide."
)
UNITS: Final = ("Unit", "What is meant", "Where it is", "Who has it", "Last worn by", "Found, put away at", "Signed")
LOTS: Final = ("Item", "Lot", "Expires", "Quantity", "Put aside at", "Signed")
TURNING: Final = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C), "\ufffd")
"""Characters that turn the direction of what follows (Unicode Standard Annex 9): shown as a mark, they turn nothing."""
SIGNED: Final = ("Read and done at this site", "Name", "Date", "Signature")


def notice(told: Notice) -> str:
    """Draw the notice, a section a site; where no site has anything of it, one section says so."""
    sections = [_section(told, site) for site in told.sites] or [_section(told, None)]
    return PAGE.format(recall=escape(told.recall.recall or ""), sections="".join(sections))


def _section(told: Notice, site: SiteNotice | None) -> str:
    where = "No site" if site is None else site.site if site.name is None else f"{site.name} ({site.site})"
    parts = [
        _heading(f"Recall {told.recall.recall}: {where}", 1),
        *_why(told.recall, wordless=told.wordless),
        *_called(told.items),
        *_to_do(told.recall, _asked(site)),
    ]
    parts += (
        [_paragraph("No unit and no stock of this recall is on record.")] if site is None else _found(site, told.recall)
    )
    parts += _untold(told.unknown if site is None else site.unknown)
    return "<section>\n{}\n</section>\n".format("\n".join([*parts, _signing(), _footer(told)]))


def _why(recall: RecallSaid, *, wordless: bool) -> Iterator[str]:
    if recall.rehearsal:
        yield f"<p><strong>{escape(REHEARSAL)}</strong></p>"
    if recall.voided_at is not None:
        yield _paragraph(TAKEN_BACK.format(at=_moment(recall.voided_at)))
    if recall.closed_at is not None:
        closed = CLOSED if recall.rehearsal else ENDED
        yield _paragraph(closed.format(at=_moment(recall.closed_at)))
    yield _heading("What is recalled, and why", 2)
    alike: dict[tuple[str | None, tuple[Criterion, ...]], list[OpeningSaid]] = {}
    for one in recall.openings:
        alike.setdefault((one.notice, one.criteria), []).append(one)
    for (words, criteria), openings in alike.items():
        if len(recall.openings) > 1:
            yield from (_paragraph(_opened(one)) for one in openings)
        said = f"<p class=said>{_text(words)}</p>" if words else None
        yield said or _paragraph(WITHHELD if wordless else UNSAID)
        yield "<ul>\n{}\n</ul>".format("\n".join(f"<li>{_text(_criterion(meant))}</li>" for meant in criteria))


def _opened(one: OpeningSaid) -> str:
    """Say when a recall was opened, and when that was taken back."""
    opened = OPENED.format(at=_moment(one.opened_at))
    return opened if one.voided_at is None else f"{opened} {TAKEN_BACK.format(at=_moment(one.voided_at))}"


def _called(items: Iterable[Called]) -> Iterator[str]:
    """Say by what to look for the items: units, records and boxes name them each in its own way."""
    lines = [f"<li>{_text(', '.join(_names(one)))}</li>" for one in items]
    if lines:
        yield _paragraph("On boxes and parts look for:")
        yield "<ul>\n{}\n</ul>".format("\n".join(lines))


def _names(one: Called) -> Iterator[str]:
    yield f"{one.item}: {one.name}"
    yield from (f"part number {number}" for number in one.part_numbers)
    yield from (f"GTIN {gtin}" for gtin in one.gtins)


def _asked(site: SiteNotice | None) -> list[Asks]:
    """Give what is asked of units of a site, the most of it first."""
    found = {one.asks for one in (() if site is None else site.units) if one.asks}
    return sorted(found, key=lambda asks: [one.place for one in asks])


def _to_do(recall: RecallSaid, asked: Sequence[Asks]) -> Iterator[str]:
    yield _heading("What to do", 2)
    if len(asked) > 1:
        yield _paragraph(DIFFERS)
    else:
        yield from _doing(*asked or [recall.asks])


def _doing(asks: Asks) -> Iterator[str]:
    """Say what to do, all of it: to have a unit put right by a day is not to have it inspected before its next use."""
    for one in asks:
        by = "before they are used again" if one.due_on is None else f"by {one.due_on}"
        yield _paragraph(DO[one.action].format(by=by))


def _units(site: SiteNotice) -> Iterator[str]:
    """List the units, those of which something else is asked apart."""
    asked = _asked(site)
    if len(asked) <= 1:
        yield _table(UNITS, map(_unit, site.units)) if site.units else _paragraph("None is on record at this site.")
        return
    for asks in asked:
        yield from _doing(asks)
        yield _table(UNITS, (_unit(unit) for unit in site.units if unit.asks == asks))


def _found(site: SiteNotice, recall: RecallSaid) -> Iterator[str]:
    yield _heading(f"Units to be dealt with: {len(site.units)}", 2)
    yield from _units(site)
    yield _heading("Spare stock", 2)
    if site.stock:
        yield _paragraph(KEPT if recall.action == "information" else STOCK)
        yield _table(LOTS, map(_lot, site.stock))
    else:
        yield _paragraph("None is on record at this site. Look all the same: stock that was never counted is on none.")


def _untold(unknown: Iterable[tuple[int, str]]) -> Iterator[str]:
    lines = [f"<li>{count}: {escape(says)}</li>" for count, says in unknown]
    if lines:
        yield _heading("What the records cannot tell", 2)
        yield "<ul>\n{}\n</ul>".format("\n".join(lines))


def _unit(unit: NoticeUnit) -> tuple[str, ...]:
    away = "" if unit.put_away_at is None else f"put away by the records since {_moment(unit.put_away_at)}"
    return (
        f"{unit.asset}, {unit.model}, serial {unit.serial}",
        "; ".join(_meant(unit)),
        ", ".join(_where(unit)),
        unit.holder or "nobody on record",
        unit.last_wearer or "nobody on record",
        away,
        "",
    )


def _meant(unit: NoticeUnit) -> Iterator[str]:
    yield from map(_sitting, unit.meant)
    if unit.reason is not None:
        yield f"not dealt with when the campaign was closed: {unit.reason}"


def _where(unit: NoticeUnit) -> Iterator[str]:
    yield unit.phase
    if unit.host is not None:
        yield f"fitted in {unit.host}"
    if unit.place is not None:
        yield unit.place


def _sitting(sitting: Sitting) -> str:
    """Say what of a unit is meant, and whether that is known."""
    named = (("lot", sitting.lot), ("serial", sitting.serial), ("expires", sitting.expires))
    words = [sitting.position or "the unit itself", sitting.item or ""]
    words += [f"{name} {value}" for name, value in named if value is not None]
    return " ".join(word for word in words if word) + ("" if sitting.certain else " (may be another: look)")


def _lot(stock: Spare) -> tuple[str, ...]:
    lot = stock.lot or "not on record"
    return (
        stock.item,
        lot if stock.certain else f"{lot} (may be meant: look)",
        stock.expires or "",
        f"{stock.quantity:g} {stock.unit or ''}".strip(),
        "",
        "",
    )


def _criterion(criterion: Criterion) -> str:
    """Put the values of a criterion one after the other."""
    values = ((name, getattr(criterion, name)) for name in criterion.__struct_fields__)
    return ", ".join(f"{name.replace('_', ' ')} {_value(value)}" for name, value in values if value)


def _value(value: str | date | tuple[str, ...]) -> str:
    return " or ".join(value) if isinstance(value, tuple) else str(value)


def _signing() -> str:
    first, *rest = SIGNED
    return (
        f"<h2>{first}</h2>\n<table class=sign><thead><tr>{_cells('th', rest)}</tr></thead>"
        f"<tbody><tr>{_cells('td', [''] * len(rest))}</tr></tbody></table>"
    )


def _footer(told: Notice) -> str:
    ahead = " This is a projection: how things will stand if nothing more is recorded." if told.projection else ""
    rests_on = (
        f"As at {_moment(told.as_at)}, by what was recorded up to {_moment(told.known_at)} (event {told.judged_to})."
    )
    return f"<footer><p>{rests_on}{ahead}</p><p>{escape(CAUTION)}</p></footer>"


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    body = "\n".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
    return f"<table>\n<thead><tr>{_cells('th', heads)}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"


def _cells(tag: str, texts: Iterable[str]) -> str:
    return "".join(f"<{tag}>{_text(text)}</{tag}>" for text in texts)


def _heading(text: str, level: int) -> str:
    return f"<h{level}>{_text(text)}</h{level}>"


def _paragraph(text: str) -> str:
    return f"<p>{_text(text)}</p>"


def _text(text: str) -> str:
    """Write a text so that it does nothing to the page, nor to the order in which what stands beside it is read."""
    return escape(text.translate(TURNING))


def _moment(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M} UTC"
