"""Orders of the demo are for proposals that there are."""

from seed.orders import proposal_id
from service.domain.ordering import naming


def test_proposals_have_the_names_that_the_service_gives_them() -> None:
    """The first, and a later one."""
    for n in (0, 7):
        assert proposal_id("harrow-dock", "ar-p3", n) == naming.proposal_id("harrow-dock", "ar-p3", n)
