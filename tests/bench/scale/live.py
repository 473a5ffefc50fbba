"""What comes live to a firm that was loaded: checks of random units by a tablet of their site."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from random import Random
from uuid import UUID

import msgspec

from tests.bench.scale.shape import Shape, person_of, site_ref, tag_of
from tests.http.firm import checked


def checks(shape: Shape, number: int, seed: str) -> Iterator[bytes]:
    """Write so many checks with random ids, as they come; each tablet counts its own."""
    random = Random(seed)  # noqa: S311 -- guards nothing
    counters: defaultdict[int, Iterator[int]] = defaultdict(count)
    now = datetime.now(UTC)
    for place in range(number):
        unit = random.randrange(shape.units)
        site = shape.site_of(unit)
        yield msgspec.json.encode(
            checked(
                tag_of(unit),
                id=str(UUID(int=random.getrandbits(128))),
                occurred_at=(now + timedelta(milliseconds=place)).isoformat(),
                by=person_of(site, "b"),
                wearer=person_of(site, "b"),
                site=site_ref(site),
                device=f"tablet-{seed}-{site}",
                device_seq=next(counters[site]),
            )
        )
