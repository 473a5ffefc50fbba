"""Bad news: what a message tells against a unit, by its own content (kinds that say so, or a failing point)."""

from seed.book import Message

KINDS = frozenset(
    {"failed-check", "failed-in-use", "quarantined", "missing", "recall-opened", "authorisation-ended", "voided"}
)


def adverse(message: Message) -> bool:
    """Say whether a message is bad news."""
    if message["kind"] in KINDS or message.get("airflow_indicator") == "below" or message.get("result") == "fail":
        return True
    points = message.get("points")
    return isinstance(points, dict) and "fail" in points.values()
