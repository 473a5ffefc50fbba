from datetime import UTC, datetime

import pytest

from seed.delivery import Delivery
from seed.scenario import Scenario, scenario

END = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def story() -> Scenario:
    """Play the demo once for all tests that only look at it."""
    return scenario(END)


@pytest.fixture(scope="session")
def logged(story: Scenario) -> list[Delivery]:
    """Give the deliveries whose events end up in the log, in the order of their arrival."""
    return [one for one in story.deliveries if one.expects in {"recorded", "waiting"}]
