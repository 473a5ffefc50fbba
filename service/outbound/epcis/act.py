"""What an EPCIS event is drawn from: an event of the log, and what was known of its unit."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.part import PlacedPart
from service.domain.recorded import Recorded
from service.domain.verdict import Outcome


class Act(msgspec.Struct, frozen=True, kw_only=True):
    """An event that is handed on.

    `at` is the moment at which it counts, by the sender's clock on the wall, of a day alone by the site's; `site` where
    it was done. `unit` is the unit's id, whatever its tag; stock has none. `outcome` is what a check, an examination, a
    repair or a release proves, `withdraws` that it ends the unit's use. `voided_at` is when it was taken back.
    `carried` is what was known to sit in a unit as it got another tag, or in the position of a part as it was
    identified. `gtins` are those of the items it names, as the firm defined them; `put_in` are, by position, those by
    which what sat there was named until then.
    """

    recorded: Recorded
    at: datetime
    site: str | None = None
    unit: UUID | None = None
    outcome: Outcome | None = None
    withdraws: bool = False
    voided_at: datetime | None = None
    carried: tuple[PlacedPart, ...] = ()
    gtins: Mapping[str, str] = {}
    put_in: Mapping[str, Mapping[str, str]] = {}

    def of_what_sat(self, position: str) -> "Act":
        """Give it with the GTINs by which what sat in a position is known."""
        return replace(self, gtins=self.put_in.get(position, self.gtins))
