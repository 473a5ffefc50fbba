"""Names of the members of a pattern, in the place of those of its sample."""

from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cache, partial
from hashlib import blake2b
from uuid import UUID

from msgspec.msgpack import encode as packb

from service.domain.codec import sealed_text
from service.domain.facts import Signal
from service.domain.label import sorting
from service.domain.marking import chosen
from service.domain.standing import FOREVER
from service.domain.unit import Counted, Unit
from service.domain.wearing import VERSION_BITS, named
from tests.bench.scale import shape
from tests.bench.scale.telling import MOVED_BY

Column = Sequence[bytes]
Maker = Callable[[], Column]


class Members:
    """The units, or the sites, that a pattern is told of: their numbers and the sites where they begin."""

    def __init__(self, numbers: Sequence[int], sites: Sequence[int], seed: str) -> None:
        self.numbers, self.sites, self._seed = numbers, sites, seed
        self.ids: list[bytes] = []
        self.counters: dict[int, array[int]] = {}

    def draw(self, sample: UUID) -> None:
        """Draw an id for each, of one further event: folds are marked at it as they are at the sample's."""
        like, place = _marked(sample), len(self.ids)
        self.ids.append(b"".join(_drawn(f"{self._seed}/{number}/{place}", like) for number in self.numbers))

    def bytes_of(self, place: int) -> Column:
        """Give the ids of one event."""
        ids = self.ids[place]
        return [ids[start : start + 16] for start in range(0, len(ids), 16)]

    def texts_of(self, place: int) -> Column:
        """Give them as text."""
        return _as_text(partial(self.bytes_of, place))


def _text(digits: str) -> str:
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"


def _drawn(seed: str, like: bool) -> bytes:
    drawn = blake2b(seed.encode(), digest_size=16).digest()
    while _marked(UUID(bytes=drawn)) is not like:
        drawn = blake2b(drawn, digest_size=16).digest()
    return drawn


def _marked(ident: UUID) -> bool:
    """Ask the fold whether it would be marked at an event of this id."""
    return chosen(Signal(FOREVER, KEY, "", ident))


KEY = (FOREVER, False, 0, "", 0, b"", False)


def plain_names(members: Members, of_class: int) -> Iterator[tuple[bytes, Maker]]:
    """Name units, sites, kiosks and people; the sites where they begin and where they are moved to."""
    for name in (shape.tag_of, shape.second_tag_of, shape.serial_of, lambda unit: sorting(shape.serial_of(unit))):
        yield name(shape.SAMPLE).encode(), cache(lambda name=name: [name(one).encode() for one in members.numbers])
    for on in (0, MOVED_BY):
        for write in (shape.site_ref, shape.kiosk_of, _people_of):
            yield (
                write(of_class + on).encode(),
                cache(lambda write=write, on=on: [write(site + on).encode() for site in members.sites]),
            )


def _people_of(site: int) -> str:
    return shape.person_of(site, "")


def ids(members: Members, place: int, sample: UUID) -> Iterator[tuple[bytes, Maker]]:
    """Name an event, as bytes and as text."""
    yield sample.bytes, lambda: members.bytes_of(place)
    yield str(sample).encode(), lambda: members.texts_of(place)


def numbers(members: Members, place: int, sample: int) -> Iterator[tuple[bytes, Maker]]:
    """Name the number that a kiosk gave an event, as text and as MessagePack writes it."""
    yield str(sample).encode(), lambda: [str(counter).encode() for counter in members.counters[place]]
    yield packb(sample), lambda: [packb(counter) for counter in members.counters[place]]


def texts(members: Members, place: int, text: str, sample: UUID) -> Iterator[tuple[bytes, Maker]]:
    """Name what stands in the body of an event for a text."""
    sealed = sealed_text(text, text_key(sample.bytes)).encode()
    yield sealed, lambda: [sealed_text(text, one).encode() for one in text_keys(members, place)]


def text_keys(members: Members, place: int) -> Column:
    """Give the keys that the texts of an event are sealed with."""
    return [text_key(ident) for ident in members.bytes_of(place)]


def text_key(ident: bytes) -> bytes:
    """Give the key for the texts of an event."""
    return blake2b(ident, digest_size=32).digest()


def uses(members: Members, unit: Unit, days: tuple[datetime, datetime], of_class: int) -> Iterator[tuple[bytes, Maker]]:
    """Name the uses that the calendar counts, of every day that a unit may have had."""
    flips = cache(lambda: [(int.from_bytes(one) ^ unit.unit.int) & ~VERSION_BITS for one in members.bytes_of(0)])
    day = days[0].date() - timedelta(days=1)
    while day <= days[1].date():
        for on in (0, MOVED_BY):
            sample = _use(unit, of_class + on, day)
            column = _uses_of(members, unit, on, day, flips)
            yield sample.bytes, column
            yield str(sample).encode(), partial(_as_text, column)
        day += timedelta(days=1)


def _as_text(column: Maker) -> Column:
    return [_text(one.hex()).encode() for one in column()]


def _uses_of(members: Members, unit: Unit, on: int, day: date, flips: Callable[[], list[int]]) -> Maker:
    def column() -> Column:
        of_sites = {site: _use(unit, site + on, day).int for site in set(members.sites)}
        return [(of_sites[site] ^ flip).to_bytes(16) for site, flip in zip(members.sites, flips(), strict=True)]

    return column


def _use(unit: Unit, site: int, day: date) -> UUID:
    return named(unit, Counted(shape.site_ref(site), day, shape.SHIFT, FOREVER))


class Columns(dict[bytes, Column]):
    """What fills the gaps, made when it is asked for."""

    def __init__(self, names: Mapping[bytes, Maker]) -> None:
        super().__init__()
        self._names = names

    def __missing__(self, name: bytes) -> Column:
        """Make a column."""
        made = self[name] = self._names[name]()
        return made
