"""Named: what a question names must be there, so that a misspelt name is not answered as if there were nothing.

Nothing is told of what is not for the key: what is another site's or firm's is answered like what never was.
"""

from typing import Final

from service.assessing.moment import Question
from service.domain.errors import NotFound
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.site_defined import SiteDefined

SITE: Final = "site"
REGION: Final = "region"
MODEL: Final = "model"


def demand_site(question: Question, site: str) -> None:
    """Raise NotFound for a site that the key does not read, and alike for one that nobody had defined by then."""
    if site not in question.sites or (question.reach is not None and site not in question.reach):
        raise NotFound(SITE, parameter=SITE)


def demand_region(question: Question, region: str) -> None:
    """Raise NotFound for a region that no site which the key reads was ever said to be in."""
    events = (row.event for row in question.known.rows if row.seq <= question.judged_to)
    known = {
        event.region
        for event in events
        if isinstance(event, SiteDefined) and (question.reach is None or event.site in question.reach)
    }
    if region not in known:
        names = ", ".join(sorted(name for name in known if name is not None))
        raise NotFound(REGION, f"the regions of its sites are {names}" if names else "no site has one", REGION)


def demand_model(question: Question, model: str | None) -> None:
    """Raise NotFound for a model that nobody had defined by then; of one that was taken back there may be units."""
    rows = (row.event for row in question.known.rows if row.seq <= question.judged_to)
    if model is not None and not any(isinstance(event, ModelDefined) and event.model == model for event in rows):
        raise NotFound(MODEL, parameter=MODEL)
