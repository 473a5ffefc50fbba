"""What is told of sites: what decisions rest on, and what their stores and desks say of stock and orders."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from tests.bench.scale.shape import CLASSES, SHIFT, Shape, kiosk_of, person_of, site_ref
from tests.bench.scale.telling import COUNTER, MAGIC, MODEL, PROMPT, Told
from tests.http.firm import model, site

LONG_AGO = timedelta(days=2000)
HALF_A_YEAR = timedelta(days=180)
RECALL = "rc-2026-01"


def context(shape: Shape) -> Iterator[dict[str, Any]]:
    """Tell of the model, the items, every site, who works there, and a recall; long before anything else happens."""
    random = Random(f"{shape.seed}/context")  # noqa: S311 -- guards nothing
    for nth, message in enumerate(_context(shape)):
        at = shape.until - LONG_AGO + timedelta(seconds=nth)
        yield message | {"id": str(UUID(int=random.getrandbits(128))), "occurred_at": at.isoformat()}


def _context(shape: Shape) -> Iterator[dict[str, Any]]:
    approval = {"class": "TH3", "standard": "EN 12941", "edition": "2023"}
    yield model(approvals=[{"jurisdiction": profile, **approval} for profile, _ in CLASSES])
    yield _said("item-defined", item="pf-170", name="Particle filter 170", unit="C62")
    yield _said("item-defined", item="bat-64", name="Battery 64", unit="C62")
    yield _said("instrument-defined", instrument="meter-1", name="Flow meter 1", measures=["airflow"],
                calibrated_on="2025-01-01", calibration_due="2035-01-01")  # fmt: skip
    yield _said("policy-set", policy="scope", scope={"organisation": True}, values={"in_store": False})
    for number in range(shape.sites):
        profile, time_zone = CLASSES[number % len(CLASSES)]
        shifts = [{"name": SHIFT, "starts": "06:00", "lasts": "PT8H"}]
        calendar = {"working_days": ["mon", "tue", "wed", "thu", "fri"], "shifts": shifts}
        yield site(site_ref(number), profile=profile, time_zone=time_zone, calendar=calendar)
        yield _said("trained", person=person_of(number, "a"), competences=["examine", "repair", "release"])
        for who in "bc":
            yield _said("trained", person=person_of(number, who), competences=["wear"])
        yield _said("medically-cleared", person=person_of(number, "b"))
    for person in ("p-one", "p-two"):
        yield _said("trained", person=person, competences=["wear", "repair"])
    yield _said("task-defined", task="hull-welding", name="Hull welding", substances=[], oxygen="proven", space="open")
    yield _said("assigned", person="p-one", task="hull-welding")
    yield _said("fit-tested", person="p-one", model=MODEL, size="M", method="qualitative", passed=True)
    yield _said("authorisation-ended", person="p-two", of="repair")
    yield _said("recall-opened", recall=RECALL, action="information", criteria=[{"item": "pf-170", "lot": "L2409"}])
    yield _said("recall-closed", recall=RECALL)


def _said(kind: str, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "by": "p-1002", **fields}


def told_sites(shape: Shape, of_class: int) -> list[Told]:
    """Tell what every site of a class says of its stock and orders, of the first of them."""
    random = Random(f"{shape.seed}/sites/{of_class}")  # noqa: S311 -- guards nothing
    moments = sorted(random.sample(range(10**9), shape.of_sites))
    since = shape.until - HALF_A_YEAR / 3
    return [
        _told(nth, since + (shape.until - since) * (moment / 10**9), of_class, random)
        for nth, moment in enumerate(moments)
    ]


def _told(nth: int, at: datetime, of_class: int, random: Random) -> Told:
    ref = site_ref(of_class)
    amount = {"item": "pf-170", "quantity": float(random.randrange(1, 90)), "unit": "C62", "lot": "L2411"}
    order = f"{ref}.{nth}"
    kinds: tuple[tuple[str, dict[str, Any]], ...] = (
        ("stock-counted", amount),
        ("stock-received", amount | {"order": f"PO/{order}", "line": "10"}),
        ("stock-moved", amount | {"to_site": site_ref(of_class + 2)}),
        ("stock-discarded", amount | {"reason": "box was wet"}),
        ("reorder-approved", {"proposal": order, "quantity": 60.0}),
        ("order-placed", {"proposal": order, "order": f"PO/{order}", "supplier": "sup-4"}),
        ("order-cancelled", {"order": f"PO/{order}", "reason": "ordered twice"}),
    )
    kind, fields = kinds[nth % len(kinds)]
    message = {
        "id": str(UUID(int=MAGIC << 96 | random.getrandbits(96))),
        "kind": kind,
        "by": person_of(of_class, "a"),
        "site": ref,
        "device": kiosk_of(of_class),
        "device_seq": COUNTER + nth,
        "occurred_at": at.isoformat(),
        **fields,
    }
    return Told(message, at, at + PROMPT, 0)
