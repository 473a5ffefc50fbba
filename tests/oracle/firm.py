"""The invented firm of the cases: two sites, four models, their parts, its people and its rules."""

from typing import Any

from tests.oracle.posting import Posted, say

SET_UP = "2025-01-01 00:00"
EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS = EVERY_DAY[:5]

PASSES = {"airflow": "pass", "alarm": "pass", "filters": "pass", "tube": "pass", "battery": "pass"}
MASK_PASSES = {"face-seal": "pass", "valves": "pass"}


def defined(kind: str, received: str = SET_UP, **fields: Any) -> Posted:
    """Define reference data as the administrator."""
    return say(kind, received, "adm", received=received, **fields)


def site(ref: str, profile: str, zone: str, *, received: str = SET_UP, **fields: Any) -> Posted:
    """Define a site that works weekdays, whole days, unless said otherwise."""
    plan = {
        "working_days": fields.pop("working_days", WEEKDAYS),
        "closed": fields.pop("closed", []),
        "shifts": fields.pop("shifts", []),
    }
    owner = {"name": "Invented Works", "address": "1 Nowhere Road"}
    return defined(
        "site-defined", received, site=ref, name=ref.title(), profile=profile, time_zone=zone, employer=owner,
        calendar=plan, **fields,
    )  # fmt: skip


def point(name: str, role: str, on_fail: str, *, required: bool = True) -> dict[str, Any]:
    """Make a check point of a model."""
    return {"point": name, "role": role, "required": required, "on_fail": on_fail}


def position(name: str, role: str, *items: str, required: bool = True) -> dict[str, Any]:
    """Make a position of a model."""
    return {"position": name, "role": role, "items": list(items), "required": required}


POWERED_POINTS = [
    point("airflow", "airflow", "withdraw"),
    point("alarm", "alarm", "withdraw"),
    point("filters", "filters", "recheck"),
    point("tube", "tube", "withdraw"),
    point("battery", "battery", "recheck"),
    point("visor", "other", "recheck", required=False),
]
HOOD: dict[str, Any] = {
    "model": "hood",
    "name": "Hood",
    "maker": "Invented Air",
    "device": "powered",
    "fit": "loose",
    "approvals": [
        {"jurisdiction": "uk", "class": "TH3", "standard": "EN 12941", "edition": "2023"},
        {"jurisdiction": "us", "class": "papr-loose-hood", "standard": "42 CFR 84", "edition": "2020"},
    ],
    "minimum_flow_lpm": 160,
    "plausible_flow_lpm": [20, 400],
    "positions": [
        position("particle-filter", "particle", "p3", "p3-shift", "p3-hours"),
        position("pre-filter", "pre-filter", "pre", required=False),
        position("breathing-tube", "tube", "tube"),
        position("battery", "battery", "cell"),
    ],
    "points": POWERED_POINTS,
    "loading": {"levels": 5, "change_at": 4},
    "battery": {"low_percent": 20, "capacity_wh": 60, "end_of_life_percent": 80},
}
MASK: dict[str, Any] = {
    "model": "mask",
    "name": "Mask",
    "maker": "Invented Masks",
    "device": "negative-pressure",
    "fit": "tight",
    "approvals": [{"jurisdiction": "uk", "class": "full-P3", "standard": "EN 136", "edition": "1998"}],
    "positions": [position("gas-filter", "gas", "abek", "abek-30", "abek-open")],
    "points": [point("face-seal", "face-seal", "recheck"), point("valves", "other", "withdraw")],
}
COWL: dict[str, Any] = {
    **HOOD,
    "model": "cowl",
    "name": "Cowl",
    "positions": [
        position("particle-filter", "particle", "p3-hours", "abek"),
        position("gas-filter", "gas", "abek-open", required=False),
        position("battery", "battery", "cell"),
    ],
}
BARE: dict[str, Any] = {
    "model": "bare",
    "name": "Bare mask",
    "maker": "Invented Masks",
    "device": "negative-pressure",
    "fit": "tight",
    "approvals": [],
    "positions": [],
    "points": [point("face-seal", "face-seal", "recheck"), point("valves", "other", "withdraw")],
}
PACK: dict[str, Any] = {
    "model": "pack",
    "name": "Battery pack",
    "maker": "Invented Air",
    "device": "negative-pressure",
    "fit": "loose",
    "approvals": [],
    "positions": [],
    "points": [point("case", "other", "withdraw")],
}


def item(ref: str, **fields: Any) -> Posted:
    """Define an item."""
    return defined("item-defined", item=ref, name=ref, unit="piece", **fields)


def skill(person: str, *competences: str) -> Posted:
    """Record a competence of a person."""
    return say("trained", SET_UP, "adm", person=person, competences=list(competences))


def policy(name: str, values: dict[str, Any], received: str = SET_UP, **scope: str) -> Posted:
    """Set a policy for the organisation, or for the site or model named."""
    return defined(
        "policy-set", received, policy=name, scope={"organisation": True, **scope}, values=values, reason="as agreed",
    )  # fmt: skip


PLAIN = [
    site("dock", "uk", "Europe/London"),
    site("mesa", "us", "America/Chicago"),
    site("works", "uk", "Europe/London", shifts=[
        {"name": "early", "starts": "06:00", "lasts": "PT8H"}, {"name": "night", "starts": "22:00", "lasts": "PT8H"},
    ]),
    defined("model-defined", **HOOD),
    defined("model-defined", **MASK),
    defined("model-defined", **BARE),
    defined("model-defined", **PACK),
    item("p3"),
    item("p3-shift", service_limit={"shifts": 1}),
    item("p3-hours", service_limit={"hours": 10}),
    item("pre"),
    item("tube"),
    item("cell"),
    item("abek"),
    item("abek-30", service_limit={"days": 30}),
    item("abek-open", after_opening_days=10),
    defined("instrument-defined", instrument="meter", name="Flow meter", measures=["airflow"],
            calibrated_on="2025-06-01", calibration_due="2026-06-30"),
    skill("ex-1", "examine"),
    skill("rep-1", "repair"),
    skill("rel-1", "release"),
    skill("rel-2", "release"),
]  # fmt: skip
WORN_ONLY = policy("pre-use-check", {"count": "worn"})
FIRM = [*PLAIN, WORN_ONLY]


# --- Words for what happens to a unit


def register(at: str = "2026-01-05 08:00", tag: str = "A-1", **fields: Any) -> Posted:
    """Register a unit: a hood at the dock unless said otherwise."""
    given: dict[str, Any] = {"asset": tag, "model": "hood", "serial": f"S-{tag}", "site": "dock"} | fields
    return say("registered", at, "adm", **given)


def issue(at: str, person: str = "p-1", tag: str = "A-1", **fields: Any) -> Posted:
    """Issue a unit to a person, unless another holder is given."""
    return say("issued", at, "store", **{"asset": tag, "holder": {"person": person}} | fields)


def check(at: str, wearer: str | None = "p-1", tag: str = "A-1", **fields: Any) -> Posted:
    """Check a unit before use, everything passing unless said otherwise."""
    by = fields.pop("by", wearer or "p-9")
    return say("checked", at, by, asset=tag, wearer=wearer, **{"points": PASSES} | fields)


def examine(at: str, tag: str = "A-1", **fields: Any) -> Posted:
    """Examine a unit thoroughly by a competent person, everything passing unless said otherwise."""
    by = fields.pop("by", "ex-1")
    given: dict[str, Any] = {"points": PASSES, "airflow_lpm": 180, "result": "pass"} | fields
    return say("examined", at, by, asset=tag, **{name: value for name, value in given.items() if value is not None})


def wear(at: str, wearer: str = "p-1", tag: str = "A-1", **fields: Any) -> Posted:
    """Wear a unit."""
    return say("worn", at, wearer, asset=tag, wearer=wearer, **fields)


def tell(kind: str, at: str, tag: str = "A-1", **fields: Any) -> Posted:
    """Say anything else about a unit."""
    by = fields.pop("by", "p-9")
    return say(kind, at, by, asset=tag, **fields)


def part(item: str, **fields: Any) -> dict[str, Any]:
    """Make a new part."""
    return {"item": item, "condition": "new", **fields}


def fails(*points: str) -> dict[str, str]:
    """Give the results of a check at which some points fail."""
    return PASSES | dict.fromkeys(points, "fail")
