"""A rulebook that remembers what it was asked, so that a judgement can be made again when that changes."""

from datetime import date
from zoneinfo import ZoneInfo

from typing_extensions import override

from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.task_defined import TaskDefined
from service.domain.policies import Setting
from service.domain.rulebook import Rulebook
from service.domain.versions import Instant


class Traced(Rulebook):
    """The same answers; `asked` grows by the ref of each question ("site:x", "policy:clock"), defined or not."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.__dict__.update(rulebook.__dict__)
        self.asked: set[str] = set()

    @override
    def site(self, ref: str | None, at: Instant) -> SiteDefined | None:
        self.asked.add(f"site:{ref}")
        return super().site(ref, at)

    @override
    def model(self, ref: str | None, at: Instant) -> ModelDefined | None:
        self.asked.add(f"model:{ref}")
        return super().model(ref, at)

    @override
    def first_model(self, ref: str) -> ModelDefined | None:
        self.asked.add(f"model:{ref}")
        return super().first_model(ref)

    @override
    def item(self, ref: str | None, at: Instant) -> ItemDefined | None:
        self.asked.add(f"item:{ref}")
        return super().item(ref, at)

    @override
    def task(self, ref: str | None, at: Instant) -> TaskDefined | None:
        self.asked.add(f"task:{ref}")
        return super().task(ref, at)

    @override
    def instrument(self, ref: str | None, at: Instant) -> InstrumentDefined | None:
        self.asked.add(f"instrument:{ref}")
        return super().instrument(ref, at)

    @override
    def zone_on(self, site: str | None, day: date) -> ZoneInfo:
        self.asked.add(f"site:{site}")
        return super().zone_on(site, day)

    @override
    def policy(self, name: str, at: Instant, site: str | None = None, model: str | None = None) -> Setting:
        self.asked.add(f"policy:{name}")
        return super().policy(name, at, site, model)
