"""Stored lives: units of kins as their folds left them, with all that sat in them by then.

A process remembers them: a kin's version tells whether anything of it was written since, and to unpack a unit with what
sat in it takes longer than to ask for that.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.domain.recall.wearings import Wearing, lasting
from service.domain.standing import FOREVER
from service.domain.stays import Stay
from service.domain.wearing import Use
from service.recording.rows import SEEN, Seen
from service.store.outlooks_of_kins import OutlookOfKin, outlooks_of_kins
from service.store.parts_of_units import Told, parts_of_units
from service.store.put_away_of_units import AwayOfUnit, put_away_of_units
from service.store.versions_of_kins import versions_of_kins

STAY: Final = msgspec.msgpack.Decoder(Stay)


class Away(NamedTuple):
    """A stretch in which a unit was withdrawn and in nobody's hands."""

    since: datetime
    until: datetime


class Exposure(msgspec.Struct, gc=False, frozen=True):
    """Who had a unit and who wore it, as far as it may have lasted past `since`.

    The wearings are told for as long as was said, the longest until `until`. The uses that they come to are told of an
    entangled unit alone, whose wearings may have to be told anew with the hands of what it sat in.
    """

    since: datetime
    hands: tuple[Stay, ...]
    uses: tuple[Use, ...]
    wearings: tuple[Wearing, ...]
    until: datetime

    @property
    def weight(self) -> int:
        """Give how much there is of it, in structs more or less."""
        return 1 + 2 * len(self.hands) + len(self.uses) + len(self.wearings)

    def worn_by(self, at: datetime) -> tuple[Wearing, ...]:
        """Give the wearings by a moment at which nothing is told of any later."""
        return self.wearings if self.until <= at else tuple([lasting(one, at) for one in self.wearings])


class StoredLife(msgspec.Struct):
    """A unit as its fold left it, with the stays of parts in it, in order, and when it is put away.

    `kin`, `version` and `tags` are those of its kin; it is `entangled` where they are several, or mean several units.
    `exposure` is a memo: what was read so far of who had and wore it (`stored_exposure.py`). Nothing else is ever
    changed.
    """

    kin: str
    version: int
    tags: tuple[str, ...]
    entangled: bool
    seen: Seen
    parts: tuple[Stay, ...]
    away: tuple[Away, ...]
    exposure: Exposure | None = None

    @property
    def unit(self) -> UUID:
        """Name the unit."""
        return self.seen.folded.unit.unit

    @property
    def weight(self) -> int:
        """Give how much there is of it, in structs more or less, but for who had and wore it."""
        return 4 + 2 * len(self.parts) + len(self.away)


StoredKin = tuple[StoredLife, ...]


class StoredKins(NamedTuple):
    """The versions at which kins are stored, and the units of those that are remembered."""

    versions: dict[str, int]
    known: dict[str, StoredKin]


async def stored_kins(question: Question, kins: Mapping[str, int | None]) -> StoredKins:
    """Find how kins are stored; versions not known yet are read.

    All kins of a question are asked for before any is read: else what is kept of one page drives out the next.
    """
    versions = {kin: version for kin, version in kins.items() if version is not None}
    if len(versions) < len(kins):
        versions |= await versions_of_kins(question.conn, question.organisation, kins.keys() - versions.keys())
    return StoredKins(versions, question.known.lives.known(question.organisation, versions))


async def stored_lives(question: Question, there: StoredKins, page: Iterable[str]) -> dict[str, StoredKin]:
    """Give by kin its units as they are stored, by tag, of the kins of a page that have any.

    What is remembered is given once: whatever was forgotten meanwhile goes with the page.
    """
    wanted = {kin: there.versions[kin] for kin in page if kin in there.versions}
    found = {kin: there.known.pop(kin) for kin in wanted if kin in there.known}
    unread = {kin: version for kin, version in wanted.items() if kin not in found}
    for kin, lives in (await _read(question, unread)).items() if unread else ():
        weight = sum(one.weight for one in lives)
        found[kin] = question.known.lives.keep(question.organisation, kin, wanted[kin], lives, weight)
    return found


async def _read(question: Question, kins: Mapping[str, int]) -> dict[str, StoredKin]:
    """Read kins, each of a version."""
    rows = await outlooks_of_kins(question.conn, question.organisation, kins)
    seen = await aside(len(rows), lambda: [SEEN.decode(row.outlook) for row in rows])
    asked = (question.conn, question.organisation, [one.folded.unit.unit for one in seen])
    parts, away = await parts_of_units(*asked), await put_away_of_units(*asked)
    return await aside(len(rows), lambda: _lives(kins, rows, seen, parts, away))


def _lives(
    kins: Mapping[str, int],
    rows: Sequence[OutlookOfKin],
    seen: Sequence[Seen],
    told: Iterable[Told],
    put_away: Iterable[AwayOfUnit],
) -> dict[str, StoredKin]:
    """Unpack what was read of units, in their order."""
    parts = [stays_told(one) for one in told]
    away: list[list[Away]] = [[] for _ in seen]
    for nth, since, until in put_away:
        away[nth].append(Away(since, until or FOREVER))
    many, found = Counter(row.kin for row in rows), dict[str, StoredKin]()
    for row, one, sat, spans in zip(rows, seen, parts, away, strict=True):
        entangled = len(row.tags) > 1 or many[row.kin] > 1
        life = StoredLife(row.kin, kins[row.kin], tuple(row.tags), entangled, one, sat, tuple(spans))
        found[row.kin] = (*found.get(row.kin, ()), life)
    return found


def stays_told(told: Told) -> tuple[Stay, ...]:
    """Unpack stays."""
    return tuple(map(_stay, *told))


def _stay(told: bytes, until: datetime | None) -> Stay:
    stay = STAY.decode(told)
    return stay if until is None else replace(stay, until=until)
