"""Places: the sites that a question is about, by name, by region, by jurisdiction, as far as the key reads them."""

import msgspec

from service.assessing.moment import Question
from service.assessing.named import demand_region, demand_site
from service.domain.caller import Caller


class Places(msgspec.Struct, frozen=True, kw_only=True):
    """Which sites; all that is given must hold, None asks nothing."""

    site: str | None = None
    region: str | None = None
    profile: str | None = None


EVERYWHERE = Places()


def sites_of(question: Question, caller: Caller, places: Places) -> frozenset[str] | None:
    """Give the sites a question is about: those asked for, of those the key reads; None is every one.

    A region and a jurisdiction are those of the moment asked about. Raises NotFound for a site or a region that the key
    does not read, and alike for one that nobody had defined by then.
    """
    if places.region is not None:
        demand_region(question, places.region)
    sites = _named(question, caller, places.site)
    if places.region is None and places.profile is None:
        return sites
    return frozenset(site for site in sites or question.sites if _is_like(question, site, places))


def _named(question: Question, caller: Caller, site: str | None) -> frozenset[str] | None:
    if site is None:
        return caller.sites
    demand_site(question, site)
    return frozenset({site})


def _is_like(question: Question, site: str, places: Places) -> bool:
    found = question.world.rulebook.site(site, question.as_at)
    if found is None:
        return False
    return places.region in {None, found.region} and places.profile in {None, found.profile}
