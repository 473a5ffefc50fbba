"""What goes wrong between a site and the service. What may live here: the faults by name, each in a sentence."""

FAULTS = {
    "offline": "every other device is without a line for hours or days, and delivers then all at once",
    "duplicate": "messages are sent again: beside themselves, and long after",
    "reorder": "what a device has to send goes out in any order",
    "drift": "clocks are off by up to two minutes, some by much more, and some devices state no clock",
    "ahead": "a clock runs two hours ahead at first: what it stamps is refused, and told again when the clock is set",
    "reset": "the counter of every third device begins again at 1",
    "lost": "every third device loses a message for good, so that its number never comes",
    "cut": "devices hang up before the answer, and send again",
    "shift-start": "at 06:00 all sites post at once, each message by itself",
}


class UnknownFault(ValueError):
    """A fault that nobody knows."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name!r} is none of {', '.join(FAULTS)}, all and none")


def chosen(text: str) -> frozenset[str]:
    """Read a list of faults: names with commas between, `all`, or `none`. Raises UnknownFault."""
    if text in {"all", "none"}:
        return frozenset(FAULTS if text == "all" else ())
    names = text.split(",")
    for name in names:
        if name not in FAULTS:
            raise UnknownFault(name)
    return frozenset(names)
