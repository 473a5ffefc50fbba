import pytest

from service.domain.event import AssetEvent
from tests.domain.units import at, row
from tests.oracle.firm import tell
from tests.oracle.posting import Posted


@pytest.mark.parametrize(
    ("posted", "fails"),
    [
        (tell("quarantined", at(1).isoformat(), reason="damage"), True),
        (tell("missing", at(1).isoformat()), True),
        (tell("returned", at(1).isoformat()), False),
    ],
)
def test_an_event_without_readings_fails_where_it_is_bad_news(posted: Posted, fails: bool) -> None:
    """By its kind alone (R1), whatever the model."""
    event = row(posted).event
    assert isinstance(event, AssetEvent)
    assert event.fails(None) is fails
