"""Definitions of sites and models that are well formed and that nothing could be judged by.

They are turned away when they are posted. What was recorded before is read and judged as ever: no decoder asks here.
"""

from collections.abc import Iterator

from service.domain.calendar import zone_names
from service.domain.event import ReferenceEvent
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.site_defined import SiteDefined
from service.domain.period import Period, longer

LONGEST_SHIFT = Period(days=1)
NOWHERE = frozenset({"Factory", "localtime", "posixrules"})
"""Names among the time zones that are no place's: what clocks show before they are set, and links to others."""

Wrong = tuple[str, str]
"""Where (a JSON pointer) and what."""


def unsound(event: ReferenceEvent) -> Iterator[Wrong]:
    """Say what is wrong with a site or a model."""
    if isinstance(event, SiteDefined):
        yield from _site(event)
    elif isinstance(event, ModelDefined):
        yield from _model(event)


def _site(site: SiteDefined) -> Iterator[Wrong]:
    """Say what is wrong. A site where nobody works any more is closed; one without a fixed week has all seven days."""
    if site.time_zone not in zone_names() or site.time_zone in NOWHERE:
        yield "/time_zone", "is no time zone of the IANA database, such as Europe/London"
    if not site.calendar.working_days:
        detail = "name a working day: a closed site says closed_on, one without a fixed week all seven days"
        yield "/calendar/working_days", detail
    for place, shift in enumerate(site.calendar.shifts):
        lasts = Period.parse(shift.lasts)
        if lasts.is_zero or longer(lasts, LONGEST_SHIFT):
            yield f"/calendar/shifts/{place}/lasts", "a shift lasts longer than nothing and at most a day"


def _model(model: ModelDefined) -> Iterator[Wrong]:
    """Say what is wrong. Without a required point every check would be complete, whatever was looked at."""
    if not any(point.required for point in model.points):
        yield "/points", "name a point that every check must pass: without one any check would be complete"
    if model.loading is not None and model.loading.change_at == 0:
        yield "/loading/change_at", "a clean filter stands at 0: name the step at which it is changed"
