"""Keeps a log folded as the service does: on from what was kept where that is possible, else from the beginning."""

from collections.abc import Iterable, Sequence

import msgspec

from service.domain.conflict import Contradiction
from service.domain.event import AssetEvent
from service.domain.finding import Finding, joined
from service.domain.fold import Story
from service.domain.intervals import Interval
from service.domain.kin import KinStory, fold_kin, lengthened, resume
from service.domain.recorded import Recorded
from service.domain.snapshot import Asked, Snapshot
from service.domain.wearing import Use
from tests.domain.folding import Folding
from tests.oracle.record import Record, Report

ENCODER = msgspec.msgpack.Encoder(order="deterministic")
SNAPSHOT = msgspec.msgpack.Decoder(Snapshot)

Said = set[tuple[str, str, tuple[str, ...]]]


class Rows:
    """What a database keeps of one unit."""

    def __init__(self, story: Story) -> None:
        self.intervals: list[Interval] = list(story.intervals)
        self.uses: list[Use] = list(story.uses)
        self.findings: list[Finding] = list(story.findings)

    def write(self, story: Story, before: Story) -> None:
        """Write what was told on: intervals from the one that held, uses from the oldest open, findings besides."""
        run, since = before.folded.run, before.folded.uses_from
        kept = [] if run is None else [one for one in self.intervals if one.since < run.since]
        self.intervals = [*kept, *story.intervals]
        self.uses = [*(use for use in self.uses if use.at < since), *story.uses]
        self.findings = list(joined([*self.findings, *story.findings]))


class Kept:
    """A log folded as one kin with every message. `went_on` counts how often it was folded on."""

    def __init__(self) -> None:
        self.records: list[Record] = []
        self.reports: list[Report] = []
        self.rows: list[Rows] = []
        self.conflicts: Said = set()
        self.asked = Asked()
        self.went_on = 0
        self._told: KinStory | None = None
        self._suspects: dict[str, bool] = {}

    def add(self, records: Sequence[Record], reports: Sequence[Report] = ()) -> None:
        """Record messages and fold them; whatever is kept must be what a fold from the beginning says."""
        self.records += records
        self.reports += reports
        folding = Folding(self.records, self.reports)
        whole = fold_kin(of_kin(folding.rows), folding.reports, folding.world.fresh())
        fresh = {record.id for record in records}
        suspects = {str(row.event.id): row.suspect_order for row in folding.rows}
        alike = all(suspects[event] == was for event, was in self._suspects.items())
        new = [row for row in of_kin(folding.rows) if str(row.event.id) in fresh]
        if reports or not alike or len(new) < len(records) or not self._fold_on(new, folding, whole):
            self.rows = [Rows(story) for story in whole.stories]
            self.conflicts = said(whole.conflicts)
            self.asked = whole.asked
        assert self.asked == whole.asked
        self._told, self._suspects = whole, suspects
        assert [rows.intervals for rows in self.rows] == [list(story.intervals) for story in whole.stories]
        assert [rows.uses for rows in self.rows] == [list(story.uses) for story in whole.stories]
        assert [rows.findings for rows in self.rows] == [list(story.findings) for story in whole.stories]
        assert self.conflicts == said(whole.conflicts)

    def _fold_on(self, new: Sequence[Recorded], folding: Folding, whole: KinStory) -> bool:
        """Fold on from what was kept, read back from its bytes; False where that reaches back."""
        told = self._told
        if told is None or told.snapshot is None:
            return False
        kept = SNAPSHOT.decode(ENCODER.encode(told.snapshot))
        on = resume(kept, new, told.tags, folding.world.fresh())
        if on is None:
            return False
        self.went_on += 1
        assert ENCODER.encode(on.snapshot) == ENCODER.encode(whole.snapshot)
        assert on.tags == whole.tags
        for one, other in zip(lengthened(told, on).stories, whole.stories, strict=True):
            assert (one.folded, one.intervals, one.uses) == (other.folded, other.intervals, other.uses)
            assert one.findings == other.findings
        for rows, story, before in zip(self.rows, on.stories, told.stories, strict=True):
            rows.write(story, before)
        self.conflicts |= said(on.conflicts)
        self.asked = self.asked.joined(on.asked)
        return True


def of_kin(rows: Iterable[Recorded]) -> list[Recorded]:
    """Give the rows that a kin is folded from: events about assets, and voidings."""
    return [row for row in rows if isinstance(row.event, AssetEvent) or row.event.kind == "voided"]


def said(conflicts: Sequence[Contradiction]) -> Said:
    """Give conflicts in no order."""
    return {(str(one.event), one.conflict.code, one.conflict.reasons) for one in conflicts}
