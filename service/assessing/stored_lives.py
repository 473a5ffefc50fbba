"""Stored lives: units of kins as their folds left them, with all that was told of them by then.

A process remembers them: a kin's version tells whether anything of it was written since, and to unpack a unit with what
sat in it takes longer than to ask for that.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from sys import intern
from typing import Final, NamedTuple

import msgspec
from msgspec.structs import replace

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.domain.recall.wearings import Wearing, wearings
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stays import Stay
from service.domain.wearing import Use
from service.recording.rows import SEEN, Seen
from service.store.outlooks_of_kins import OutlookOfKin, outlooks_of_kins
from service.store.put_away_of_units import AwayOfUnit, put_away_of_units
from service.store.stays_of_units import stays_of_units
from service.store.versions_of_kins import versions_of_kins
from service.store.wearings_of_units import WearingOfUnit, wearings_of_units

STAY: Final = msgspec.msgpack.Decoder(Stay)


class Away(NamedTuple):
    """A stretch in which a unit was withdrawn and in nobody's hands."""

    since: datetime
    until: datetime


class StoredLife(msgspec.Struct, gc=False, frozen=True):
    """A unit as its fold left it, with its stays and its uses by whoever wore it, in order, and when it is put away.

    `version` and `tags` are those of its kin; it is `entangled` where they are several, or mean several units. `worn`
    is what its uses come to, as long as they were said to last, the longest until `worn_until`; the uses themselves are
    told of an entangled one alone, whose wearings may have to be told anew with the hands of what it sat in.
    """

    version: int
    tags: tuple[str, ...]
    entangled: bool
    seen: Seen
    stays: tuple[Stay, ...]
    uses: tuple[Use, ...]
    worn: tuple[Wearing, ...]
    worn_until: datetime
    away: tuple[Away, ...]

    @property
    def weight(self) -> int:
        """Give how much there is of it, in structs more or less."""
        return 4 + 2 * len(self.stays) + len(self.uses) + len(self.worn) + len(self.away)


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
        found[kin] = lives
        question.known.lives.keep(question.organisation, kin, wanted[kin], lives, sum(one.weight for one in lives))
    return found


async def _read(question: Question, kins: Mapping[str, int]) -> dict[str, StoredKin]:
    """Read kins, each of a version."""
    rows = await outlooks_of_kins(question.conn, question.organisation, kins)
    seen = await aside(len(rows), lambda: [SEEN.decode(row.outlook) for row in rows])
    asked = (question.conn, question.organisation, [one.folded.unit.unit for one in seen])
    stays, worn, away = await stays_of_units(*asked), await wearings_of_units(*asked), await put_away_of_units(*asked)
    return await aside(len(rows) + len(worn), lambda: _lives(kins, rows, seen, stays, worn, away))


def _lives(
    kins: Mapping[str, int],
    rows: Sequence[OutlookOfKin],
    seen: Sequence[Seen],
    told: Iterable[tuple[list[bytes], list[datetime | None]]],
    worn: Iterable[WearingOfUnit],
    put_away: Iterable[AwayOfUnit],
) -> dict[str, StoredKin]:
    """Unpack what was read of units, in their order."""
    stays = [tuple(map(_stay, *one)) for one in told]
    uses: list[list[Use]] = [[] for _ in seen]
    for nth, at, site, ref, who, ends, known_by, day in worn:
        person = None if who is None else intern(who)  # of names that are said again and again one is kept
        uses[nth].append(Use(at, intern(site), None, ref, person, ends, worn=True, known_by=known_by, day=day))
    away: list[list[Away]] = [[] for _ in seen]
    for nth, since, until in put_away:
        away[nth].append(Away(since, until or FOREVER))
    many, found = Counter(row.kin for row in rows), dict[str, StoredKin]()
    for row, one, sat, used, spans in zip(rows, seen, stays, uses, away, strict=True):
        own = tuple(wearings(used, sat, FOREVER))
        entangled = len(row.tags) > 1 or many[row.kin] > 1
        left = tuple(used) if entangled else ()
        until = max([one.until for one in own if one.until is not None], default=BEGINNING)
        life = StoredLife(kins[row.kin], tuple(row.tags), entangled, one, sat, left, own, until, tuple(spans))
        found[row.kin] = (*found.get(row.kin, ()), life)
    return found


def _stay(told: bytes, until: datetime | None) -> Stay:
    stay = STAY.decode(told)
    return stay if until is None else replace(stay, until=until)
