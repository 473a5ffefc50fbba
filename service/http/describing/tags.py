"""The chapters of the interface, each by the first word of its addresses."""

from typing import Final

#: The chapter's name, what it is about, and the words its addresses begin with.
CHAPTERS: Final[tuple[tuple[str, str, tuple[str, ...]], ...]] = (
    ("Events", "What happened: posted as it happens or later, read in the order it was recorded.", ("events",)),
    ("Devices", "What events are posted from: what of it is missing, its clock, how late it comes.", ("devices",)),
    ("Assets", "The units: where each is, whether it may be used, and all that happened to it.", ("assets",)),
    ("Scans", "What was scanned, and which unit or stock it is; the labels that are scanned.", ("scans", "labels")),
    ("Compliance", "The summary of all sites, and the units behind each number.", ("compliance",)),
    ("Exceptions", "What somebody must look at, report by report.", ("exceptions",)),
    ("Recalls", "What a recall asks, what it reaches, and how far it has been dealt with.", ("recalls",)),
    ("Stock", "How much there is of what is used up, where, and what was used.", ("stock", "consumption")),
    (
        "Reorders",
        "What is to be ordered and why, who approved it, how far each order is, and what suppliers say of it.",
        ("reorders", "order-documents"),
    ),
    ("Rejected messages", "What could not be accepted, and what is done about it.", ("rejected",)),
    (
        "Reference data",
        "What events refer to: each change is an event too, so that the past keeps its own rules.",
        ("sites", "models", "items", "tasks", "policies", "instruments"),
    ),
    (
        "Webhooks",
        "Events sent to an address of your own as they are recorded: CloudEvents, signed as Standard Webhooks are.",
        ("webhooks",),
    ),
    ("Problems", "What the types of problems mean, and what to do about each.", ("problems",)),
    ("Operations", "For whoever starts, watches and stops the service.", ("health",)),
)
BY_WORD: Final = {word: name for name, _, words in CHAPTERS for word in words}


def tag_of(path: str) -> str:
    """Give the chapter of an address."""
    first, *more = path.strip("/").split("/")
    return BY_WORD[more[0] if first == "v1" else first]


def tags() -> list[dict[str, str]]:
    """List the chapters."""
    return [{"name": name, "description": description} for name, description, _ in sorted(CHAPTERS)]
