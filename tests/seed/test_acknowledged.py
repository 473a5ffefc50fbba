"""What the demo acknowledges is there to be acknowledged."""

from datetime import datetime, timedelta
from uuid import UUID

from seed.batches import Subjects, chapters
from seed.delivery import Delivery
from seed.scenario import Scenario
from seed.sites import SITES
from tests.databases.clone import Database
from tests.domain.naming import use_ref
from tests.http.conftest import made_firms
from tests.http.firm import serving
from tests.seed.test_batches import KEYS

SHIFT = {site.ref: site.shifts[0].name for site in SITES}


def acknowledgements(story: Scenario) -> list[Delivery]:
    """Give the deliveries that acknowledge something."""
    return [one for one in story.deliveries if one.message["kind"] == "exception-acknowledged"]


def acknowledged(story: Scenario) -> dict[str, str]:
    """Give by row the tag of the unit whose use it names: a row, mixed with its shift once more, is its unit again."""
    born = (one.message for one in story.deliveries if one.message["kind"] == "registered")
    units = {use_ref(use_ref(UUID(str(unit["id"])), ""), ""): str(unit["asset"]) for unit in born}
    found: dict[str, str] = {}
    for one in acknowledgements(story):
        day, row = datetime.fromisoformat(str(one.message["occurred_at"])).date(), str(one.message["row"])
        shifts = (f"{one.site}/{day - timedelta(days=back)}/{SHIFT[str(one.site)]}" for back in range(1, 366))
        for unit in {use_ref(UUID(row), shift) for shift in shifts} & units.keys():
            found[row] = units[unit]
    return found


def test_every_acknowledgement_names_a_use(story: Scenario) -> None:
    """Its row is the name of a unit's use in the first shift of an earlier day at its site."""
    assert len(acknowledgements(story)) > 20
    assert acknowledged(story).keys() == {one.message["row"] for one in acknowledgements(story)}


def test_acknowledgements_go_last(story: Scenario) -> None:
    """Within a chapter they are posted after all lanes, which bring what is acknowledged."""
    posted = [
        (number, one)
        for number, chapter in enumerate(chapters(story.deliveries, KEYS))
        for batch in chapter.last
        for one in batch.deliveries
    ]
    assert [one for _, one in posted] == acknowledgements(story)
    assert len({number for number, _ in posted}) > 10


async def test_what_is_acknowledged_is_there(story: Scenario, database: Database) -> None:
    """Posted after what happened to its unit, an acknowledgement contradicts nothing: the first four are tried."""
    looked_at, subjects = acknowledgements(story)[:4], Subjects(story.deliveries)
    tags = {acknowledged(story)[str(one.message["row"])] for one in looked_at}
    posted = [
        one.message
        for one in story.deliveries
        if one.at <= looked_at[-1].at
        if one in looked_at or one.key_role == "administrator" or subjects.of(one) in tags
    ]
    async with made_firms(database.owner_url) as keys, serving(database.app_url) as http:
        headers = await keys.make("administrator") | {"Prefer": "import"}
        results = (await http.post("/v1/events", json=posted, headers=headers)).json()["results"]

    conflicts = {result["id"]: result["conflicts"] for result in results if "conflicts" in result}
    assert [conflicts[one.message["id"]] for one in looked_at] == [[], [], [], []]
