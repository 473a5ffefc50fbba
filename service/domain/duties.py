"""Duties in force for a unit: what its site's profile asks for, as the firm's policies change it (R35, R50).

A policy never goes beyond what the law allows, also where it was set before the law reached it.
"""

from collections.abc import Mapping
from datetime import timedelta
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

import msgspec

from service.domain.period import Period, longer
from service.domain.policies import Setting
from service.domain.profile import Examining, checking, cleaning, examining
from service.domain.rulebook import Rulebook
from service.domain.standing import Source
from service.domain.versions import Instant
from service.reference.cleaning import BETWEEN_WEARERS, OCCASIONS

DEVICE_WHEN_UNKNOWN = "powered"


class ExaminationDuty(msgspec.Struct, frozen=True):
    """How often to examine, and how long before the end it is due soon; no interval is no duty."""

    interval: Period | None
    due_soon: Period
    source: Source


class PreUseDuty(msgspec.Struct, frozen=True):
    """How long a check covers, which uses are counted, and after how long in use it is repeated."""

    cover: Period
    count: Literal["working-days", "worn"]
    in_use_recheck: Period | None
    source: Source


class CleaningDuty(msgspec.Struct, frozen=True):
    """Whether a unit is cleaned between wearers, and the clause for each occasion."""

    between_wearers: bool
    sources: Mapping[str, Source]

    @property
    def source(self) -> Source:
        """Give the clause for cleaning between wearers."""
        return self.sources[BETWEEN_WEARERS]


class FilterDuty(msgspec.Struct, frozen=True):
    """How long before the end of a filter's life it is due soon."""

    due_soon: Period


def examination_duty(rulebook: Rulebook, at: Instant, site: str, model: str, use: str) -> ExaminationDuty:
    """Give the interval of the thorough examination.

    An organisation-wide policy changes a duty that the profile has; one for a site or a model may create one.
    """
    setting = rulebook.policy("thorough-examination", at, site, model)
    return _examination(setting, profile_at(rulebook, at, site), device_of(rulebook, at, model), use)


def pre_use_duty(rulebook: Rulebook, at: Instant, site: str, model: str, use: str) -> PreUseDuty:
    """Give how checks before use count."""
    return _pre_use(rulebook.policy("pre-use-check", at, site, model), profile_at(rulebook, at, site), use)


def cleaning_duty(rulebook: Rulebook, at: Instant, site: str, model: str) -> CleaningDuty:
    """Give when a unit is cleaned."""
    return _cleaning(rulebook.policy("cleaning", at, site, model), profile_at(rulebook, at, site))


def filter_duty(rulebook: Rulebook, at: Instant, site: str, model: str) -> FilterDuty:
    """Give how long before its end a filter is due soon."""
    return FilterDuty(rulebook.policy("filter-life", at, site, model).values["due_soon"])


def in_store_counts(rulebook: Rulebook, at: Instant, site: str, model: str) -> bool:
    """Say whether units in store are in scope."""
    return bool(rulebook.policy("scope", at, site, model).values["in_store"])


def acceptance_examined(rulebook: Rulebook, at: Instant, site: str, model: str) -> bool:
    """Say whether a new unit is examined before its first issue."""
    return bool(rulebook.policy("acceptance", at, site, model).values["examination"])


def clock_tolerance(rulebook: Rulebook, at: Instant, site: str | None) -> timedelta:
    """Give how far a sender's clock may be off before its bad news is suspect (R8)."""
    tolerance: Period = rulebook.policy("clock", at, site).values["tolerance"]
    return tolerance.elapsed()


def profile_at(rulebook: Rulebook, at: Instant, site: str) -> str | None:
    """Name the jurisdiction whose rules hold at a site, None where the site is not known."""
    found = rulebook.site(site, at)
    return None if found is None else found.profile


def device_of(rulebook: Rulebook, at: Instant, model: str) -> str:
    """Name the kind of device a model is; one not known counts as powered."""
    found = rulebook.model(model, at)
    return DEVICE_WHEN_UNKNOWN if found is None else found.device


def within_law(setting: Setting, law: Examining, use: str) -> tuple[Period | None, bool]:
    """Give the interval in force for a use and whether a policy made it a duty; the law's longest is the end of it."""
    given = setting.given.get(f"interval/{use}")
    if given is None or (law.interval is None and not given.narrow):
        return law.interval, False
    if law.longest is not None and longer(given.value, law.longest):
        return law.longest, False
    return given.value, law.interval is None


@lru_cache(maxsize=16384)
def _examination(setting: Setting, profile: str | None, device: str, use: str) -> ExaminationDuty:
    law = examining(profile, device, use)
    interval, created = within_law(setting, law, use)
    source = policy_source(setting, f"interval/{use}") if created else law.source
    return ExaminationDuty(interval, setting.values["due_soon"], source)


@lru_cache(maxsize=16384)
def _pre_use(setting: Setting, profile: str | None, use: str) -> PreUseDuty:
    values = setting.values
    return PreUseDuty(values["cover"], values["count"], values["in_use_recheck"], checking(profile, use))


@lru_cache(maxsize=16384)
def _cleaning(setting: Setting, profile: str | None) -> CleaningDuty:
    sources = MappingProxyType({occasion: cleaning(profile, occasion) for occasion in OCCASIONS})
    return CleaningDuty(bool(setting.values["between_wearers"]), sources)


def policy_source(setting: Setting, name: str) -> Source:
    """Name the policy itself as the source of a duty that it creates."""
    policy = setting.given[name].policy
    return Source("policy", f"in force from {policy.since:%Y-%m-%d}", "policy")
