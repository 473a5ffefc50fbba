from collections import Counter, defaultdict

from seed.batches import Batch, Subjects, chapters
from seed.delivery import Delivery
from seed.keys import Keys
from seed.scenario import Scenario
from seed.sites import SITES

KEYS = Keys(
    administrator="k-administrator",
    manager="k-manager",
    site_lead="k-lead",
    site_app={site.ref: f"k-{site.ref}" for site in SITES},
)


def all_batches(story: Scenario) -> list[Batch]:
    """List the batches of all chapters."""
    found: list[Batch] = []
    for chapter in chapters(story.deliveries, KEYS):
        found += chapter.first
        found += [batch for lane in chapter.lanes for batch in lane]
        found += chapter.last
    return found


def test_twelve_chapters_carry_every_delivery_once(story: Scenario) -> None:
    """Nothing is lost or doubled by cutting the year into twelve chapters."""
    assert len(chapters(story.deliveries, KEYS)) == 12
    carried = Counter(id(one) for batch in all_batches(story) for one in batch.deliveries)
    assert carried == Counter(id(one) for one in story.deliveries)


def test_batches_are_bounded_and_of_one_key(story: Scenario) -> None:
    """A batch has at most 500 messages, all for the key it is posted with."""
    for batch in all_batches(story):
        assert 1 <= len(batch.deliveries) <= 500
        assert {KEYS.of(one) for one in batch.deliveries} == {batch.key}
        assert {one.imported for one in batch.deliveries} == {batch.imported}


def test_a_unit_keeps_its_order(story: Scenario) -> None:
    """What is told of a unit, voidings of that among it, is posted in the order of its arrival."""
    subjects = Subjects(story.deliveries)
    arrived: defaultdict[str, list[int]] = defaultdict(list)
    posted: defaultdict[str, list[int]] = defaultdict(list)
    for one in story.deliveries:
        if about_a_unit(one):
            arrived[subjects.of(one)].append(id(one))
    for batch in all_batches(story):
        for one in batch.deliveries:
            if about_a_unit(one):
                posted[subjects.of(one)].append(id(one))
    assert posted == arrived


def about_a_unit(delivery: Delivery) -> bool:
    """Say whether a message is about a unit, or takes back one that is."""
    return "asset" in delivery.message or delivery.message["kind"] == "voided"


def test_the_whole_import_goes_by_the_administrators_key(story: Scenario) -> None:
    """Imports use the administrator's key; the last days use each site's own, the leads' and the manager's."""
    batches = all_batches(story)
    assert {batch.key for batch in batches if batch.imported} == {"k-administrator"}
    live = {batch.key for batch in batches if not batch.imported}
    assert {"k-lead", "k-harrow-dock", "k-dry-mesa"} <= live
    assert "k-administrator" not in live


def test_reference_data_goes_before_everything(story: Scenario) -> None:
    """The year begins with all reference data, posted before any lane."""
    first = [one for batch in chapters(story.deliveries, KEYS)[0].first for one in batch.deliveries]
    reference = [one for one in story.deliveries if one.key_role == "administrator"]
    assert first[: len(reference)] == reference
    assert {one.message["kind"] for one in reference} == {
        "site-defined",
        "model-defined",
        "item-defined",
        "task-defined",
        "instrument-defined",
        "policy-set",
    }
