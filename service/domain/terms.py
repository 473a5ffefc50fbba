"""Terms: what holds for the units of a model at a site, meant for a use, until a version of anything begins.

Worked out once for all of them: a judgement asks for little else.
"""

from zoneinfo import ZoneInfo

import msgspec

from service.domain.duties import (
    CleaningDuty,
    ExaminationDuty,
    PreUseDuty,
    acceptance_examined,
    cleaning_duty,
    examination_duty,
    filter_duty,
    in_store_counts,
    pre_use_duty,
)
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.site_defined import SiteDefined
from service.domain.period import Period
from service.domain.rulebook import Rulebook
from service.domain.versions import Instant

POLICIES = ("thorough-examination", "pre-use-check", "cleaning", "filter-life", "scope", "acceptance", "clock")


class Terms(msgspec.Struct, frozen=True, kw_only=True):
    """Reference data and duties in force; `refs` names all that they rest on, defined or not."""

    refs: frozenset[str]
    site: SiteDefined | None
    model: ModelDefined | None
    zone: ZoneInfo
    examination: ExaminationDuty
    acceptance: bool
    pre_use: PreUseDuty
    cleaning: CleaningDuty
    filter_due_soon: Period
    in_store: bool


def refs_of(site: str, model: str) -> frozenset[str]:
    """Name all that the terms of a model at a site rest on."""
    return frozenset({f"site:{site}", f"model:{model}", *(f"policy:{name}" for name in POLICIES)})


def terms_at(rulebook: Rulebook, at: Instant, site: str, model: str, use: str) -> Terms:
    """Work out what holds at a moment."""
    return Terms(
        refs=refs_of(site, model),
        site=rulebook.site(site, at),
        model=rulebook.model(model, at),
        zone=rulebook.zone(site, at),
        examination=examination_duty(rulebook, at, site, model, use),
        acceptance=acceptance_examined(rulebook, at, site, model),
        pre_use=pre_use_duty(rulebook, at, site, model, use),
        cleaning=cleaning_duty(rulebook, at, site, model),
        filter_due_soon=filter_duty(rulebook, at, site, model).due_soon,
        in_store=in_store_counts(rulebook, at, site, model),
    )
