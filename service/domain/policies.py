"""Policies in force: of several that reach a unit the narrowest wins, value by value (R35).

From wide to narrow: the organisation, the site, the model, the model at the site. An interval is a value for each use,
so that a policy that speaks of one use leaves the others to wider policies.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.kinds.policy_set import PolicySet
from service.domain.period import Period
from service.domain.policy import ByUse, PolicyValues
from service.domain.versions import Instant, Timeline, Version
from service.reference.defaults import DEFAULTS
from service.reference.examination import USES

PERIODS = frozenset({"due_soon", "cover", "in_use_recheck", "tolerance"})

Scope = tuple[str | None, str | None]
"""Site and model, None where not narrowed."""


class Given(NamedTuple):
    """A value and the policy that gives it; `narrow` says that its scope names a site or a model."""

    value: Any
    policy: Version[PolicySet]
    narrow: bool


class Setting:
    """The values of one policy where a unit is: what policies give, over this service's own defaults.

    An interval stands under its use: "interval/routine". Periods are read. Equal only to itself.
    """

    __slots__ = ("given", "values")

    def __init__(self, defaults: Mapping[str, Any], given: Mapping[str, Given]) -> None:
        self.given = given
        self.values = {**defaults, **{name: found.value for name, found in given.items()}}

    @property
    def source(self) -> str:
        """Say whether a policy speaks at all, or only the default."""
        return "policy" if self.given else "default"

    @property
    def events(self) -> tuple[UUID, ...]:
        """Name the policies that decide a value, each once."""
        return tuple(dict.fromkeys(found.policy.event.id for found in self.given.values()))


def defaults_of(policy: str) -> dict[str, Any]:
    """Give this service's own values of a policy, periods read."""
    return {name: _read(name, value) for name, value in DEFAULTS.get(policy, {}).items()}


def flat(values: PolicyValues) -> Iterator[tuple[str, Any]]:
    """Give the values that are set, an interval once for each use it speaks of."""
    for name, value in values.given().items():
        if name == "interval":
            yield from _by_use(value)
        else:
            yield name, _read(name, value)


def _by_use(interval: str | ByUse) -> Iterator[tuple[str, Period]]:
    for use in USES:
        text = getattr(interval, use) if isinstance(interval, ByUse) else interval
        if text is not None:
            yield f"interval/{use}", Period.parse(text)


def _read(name: str, value: Any) -> Any:  # noqa: ANN401 -- values of all policies
    return Period.parse(value) if name in PERIODS and value is not None else value


class PolicyBook:
    """Every version of one policy in every scope. Settings are kept once worked out: there are few."""

    __slots__ = ("_kept", "_models", "_sites", "defaults", "scopes", "steps")

    def __init__(self, policy: str, scopes: Mapping[Scope, Timeline[PolicySet]]) -> None:
        self.scopes = scopes
        self.defaults = defaults_of(policy)
        self.steps = sorted({start for timeline in scopes.values() for start in timeline.starts})
        self._sites = frozenset(site for site, _ in scopes)
        self._models = frozenset(model for _, model in scopes)
        self._kept: dict[tuple[str | None, str | None, int], Setting] = {}

    def setting(self, at: Instant, site: str | None, model: str | None) -> Setting:
        """Give the values in force at a site for a model."""
        at_site = site if site in self._sites else None
        of_model = model if model in self._models else None
        key = (at_site, of_model, bisect_right(self.steps, at))
        found = self._kept.get(key)
        if found is None:
            found = self._kept[key] = self.resolve(self.reaching(at, at_site, of_model))
        return found

    def reaching(self, at: Instant, site: str | None, model: str | None) -> dict[Scope, Version[PolicySet]]:
        """Give the versions in force that reach a site and a model, the widest first."""
        reach = dict.fromkeys(((None, None), (site, None), (None, model), (site, model)))
        begun = {scope: self.scopes[scope].begun(at) for scope in reach if scope in self.scopes}
        return {scope: version for scope, version in begun.items() if version is not None}

    def resolve(self, reaching: Mapping[Scope, Version[PolicySet]]) -> Setting:
        """Lay the narrower policies over the wider ones, over the defaults."""
        given: dict[str, Given] = {}
        for scope, version in reaching.items():
            narrow = scope != (None, None)
            given.update((name, Given(value, version, narrow)) for name, value in flat(version.event.values))
        return Setting(self.defaults, given)


@cache
def unset(policy: str) -> Setting:
    """Give the values of a policy that nobody set."""
    return PolicyBook(policy, {}).resolve({})


def scope_of(event: PolicySet) -> Scope:
    """Give the site and model a policy is narrowed to."""
    return (event.scope.site, event.scope.model)


def policy_books(versions: Iterable[Version[PolicySet]]) -> dict[str, PolicyBook]:
    """Sort the versions of policies by name and scope."""
    sorted_out: dict[str, dict[Scope, list[Version[PolicySet]]]] = {}
    for version in versions:
        sorted_out.setdefault(version.event.policy, {}).setdefault(scope_of(version.event), []).append(version)
    return {
        name: PolicyBook(name, {scope: Timeline(found) for scope, found in scopes.items()})
        for name, scopes in sorted_out.items()
    }
