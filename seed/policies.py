"""The few policies the group has set, over and beside what the law asks.

What may live here: scope, values and reason of each policy, as a table. `loosens` marks the one that asks less than
the profile does; the others ask more or only set a number the firm must choose for itself.
"""

import msgspec


class Policy(msgspec.Struct, frozen=True):
    """One policy; without `site` and `model` it holds for the whole organisation.

    `after_days` is how long after the start of the demo's year it takes effect.
    """

    name: str
    values: dict[str, object]
    reason: str
    site: str | None = None
    model: str | None = None
    after_days: int = 0
    loosens: bool = False


POLICIES: tuple[Policy, ...] = (
    Policy("acceptance", {"examination": True}, "No unit is issued before an acceptance examination."),
    Policy("cleaning", {"between_wearers": True}, "Shared units are cleaned before they change hands."),
    Policy("clock", {"tolerance": "PT5M"}, "The group's own limit for the clocks of kiosks and tablets."),
    Policy("filter-life", {"due_soon": "P14D"}, "Two weeks are needed to bring filters from the central store."),
    Policy("service-level", {"level": 0.95}, "Share of demand that the site stores are expected to meet."),
    Policy("order-cap", {"amount": 5000, "currency": "GBP"}, "Larger orders are approved by the group."),
    Policy("thorough-examination", {"due_soon": "P10D"}, "The examiner comes every other week.", site="eastmere-yard"),
    Policy(
        "thorough-examination", {"interval": {"routine": "P3M"}}, "The site examines every unit once a quarter.",
        site="cedar-flats",
    ),
    Policy(
        "pre-use-check", {"count": "worn"}, "Units stay on the racks between blasting jobs; each wearing is recorded.",
        site="dry-mesa", loosens=True,
    ),
    Policy("pre-use-check", {"cover": "PT10H"}, "A check covers one working day.", site="brackmoor", after_days=182),
)  # fmt: skip
