"""What people do to units in the random histories, rightly or wrongly."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from tests.oracle.firm import BARE, COWL, HOOD, MASK, PACK, PLAIN, defined, policy
from tests.oracle.posting import Posted, say

if TYPE_CHECKING:
    from tests.oracle.histories import Plot

WORN_ONLY = policy("pre-use-check", {"count": "worn"})
SET_UP = [*PLAIN, defined("model-defined", **COWL)]
MODELS = {found["model"]: found for found in (HOOD, COWL, MASK, BARE, PACK)}
POWERED = frozenset({"hood", "cowl"})
OTHERS = {"hood": "cowl", "cowl": "hood", "mask": "bare", "bare": "mask"}
"""What else of the same maker a unit may be taken for."""
PEOPLE = ("p-1", "p-2", "p-3", "ex-1", "rep-1", "rel-1")
SITES = ("dock", "mesa", "works")
PARTS = {
    "particle-filter": ("p3", "p3", "p3", "p3-shift", "p3-hours", "abek"),
    "pre-filter": ("pre",),
    "breathing-tube": ("tube",),
    "battery": (*["cell"] * 7, "tube"),
    "gas-filter": ("abek", "abek-30", "abek-open"),
}
EXPIRIES = (*[None] * 7, "2026-01", "2026-02-10", "2026-06")
LOTS = (None, None, "L-9", "l-09", "L-10", "\ufeffL-\u200b10", "L-11", "\uff2c-\uff11\uff11", "B-10")
RECHECKS = ("filters", "battery", "face-seal", "visor")


def post(plot: Plot, kind: str, by: str, **fields: Any) -> Posted:
    """Post something that happens now."""
    key = fields.pop("key", None) or plot.pick("office", "desk", "lead", "kiosk-1", "kiosk-2")
    imported = key == "office" and plot.chance(20)
    given = {"id": f"01900000-0000-7000-8000-{plot.number():012x}"} | fields
    one = say(kind, plot.now.isoformat(), by, key=key, imported=imported, **given)
    plot.posted.append(one)
    return one


def set_up_id(number: int) -> str:
    """Give the id of a message of the firm's set-up."""
    return f"01800000-0000-7000-8000-{number:012x}"


def register(plot: Plot, tag: str, **fields: Any) -> None:
    """Register a unit, now and then with its parts and a use of its own."""
    model = fields.pop("model", None) or plot.pick("hood", "hood", "hood", "mask", "bare")
    given: dict[str, Any] = {"serial": f"S-{tag}", "site": plot.pick(*SITES)} | fields
    if plot.chance(30):
        given["use"] = plot.pick("routine", "occasional", "emergency", "escape")
    if plot.chance(30):
        given |= {
            "made_on": plot.pick("2025-02-28", "2025-03-01"),
            "acquired_on": plot.pick("2025-06-30", "2025-07-01"),
        }
    if plot.chance(40):
        given["parts"] = [
            {"position": found["position"], "part": part(plot, found["position"])}
            for found in MODELS[model]["positions"]
        ]
    post(plot, "registered", "adm", asset=tag, model=model, key="office", **given)
    plot.tags.append(tag)
    plot.serials[tag] = (model, given["serial"])


def component(plot: Plot) -> None:
    """Register a battery with a tag of its own, fitted to the first unit."""
    register(plot, "B-1", model="pack", serial="cell-1", fitted_to="U-1")


def part(plot: Plot, position: str) -> dict[str, Any]:
    """Make up a part for a position."""
    found = {"item": plot.pick(*PARTS[position]), "condition": plot.pick("new", "new", "refitted")}
    expires = plot.pick(*EXPIRIES)
    if expires:
        found["expires"] = expires
    if plot.chance(15):
        found["opened_on"] = (plot.now - timedelta(days=plot.pick(0, 3, 20))).date().isoformat()
    if position == "battery" and plot.chance(30):
        found["serial"] = plot.pick("cell-1", "cell-1", "ce\u00adll-1", "cell-02")
    lot = plot.pick(*LOTS)
    if lot:
        found["lot"] = lot
    return found


def results(plot: Plot, tag: str) -> dict[str, str]:
    """Make up the results of a check: mostly passing."""
    points = [found["point"] for found in MODELS[model_of(plot, tag)]["points"]]
    said = dict.fromkeys(points, "pass")
    if plot.chance(25):
        name = plot.pick(*points)
        said[name] = plot.pick("fail", "fail", "fail", "not-applicable")
        if said[name] == "fail" and name not in RECHECKS and plot.chance(70):
            said[name] = "pass"
    if plot.chance(12):
        del said[plot.pick(*points)]
    return said or {points[0]: "pass"}


def model_of(plot: Plot, tag: str) -> str:
    """Name the model of a tag as told."""
    return plot.serials.get(tag, ("hood", ""))[0]


def person(plot: Plot) -> str:
    """Pick a person."""
    return str(plot.pick(*PEOPLE))


def somewhere(plot: Plot) -> dict[str, Any]:
    """Name the site of the act, or leave it out."""
    return {"site": plot.pick("dock", "dock", *SITES)} if plot.chance(40) else {}


def issue(plot: Plot, tag: str) -> None:
    """Issue a unit to somebody."""
    holder = plot.pick({"person": person(plot)}, {"person": "p-1"}, {"crew": "crew-1"}, {"place": "bay-2"})
    post(plot, "issued", "store", asset=tag, holder=holder, **somewhere(plot))


def check(plot: Plot, tag: str) -> None:
    """Check a unit, with readings now and then."""
    wearer = plot.pick("p-1", "p-1", person(plot), None)
    kind = plot.pick(*["checked"] * 9, "failed-check")
    given = {"points": results(plot, tag), **readings(plot, tag), **(somewhere(plot) if plot.chance(20) else {})}
    post(plot, kind, wearer or "p-3", asset=tag, wearer=wearer, **given)


def readings(plot: Plot, tag: str) -> dict[str, Any]:
    """Make up readings, good and bad."""
    found: dict[str, Any] = {}
    if plot.chance(30):
        found["airflow_lpm"] = plot.pick(160, 185, 185, 185, 159, 900)
        found["instrument"] = plot.pick(None, "meter", "no-such-meter")
    if plot.chance(15):
        found["airflow_indicator"] = plot.pick("above", "above", "above", "below")
    if plot.chance(40):
        found["battery_percent"] = plot.pick(90, 60, 20, 12, 12)
    if plot.chance(10):
        found["capacity_percent"] = plot.pick(95, 80, 70)
    if plot.chance(20):
        found["filter_loading"] = plot.pick(1, 2, 4, {"pre-filter": 4})
    return found if model_of(plot, tag) in POWERED else {}


def examine(plot: Plot, tag: str) -> None:
    """Examine a unit, mostly well."""
    points = {found["point"]: "pass" for found in MODELS[model_of(plot, tag)]["points"]}
    if plot.chance(15):
        points = results(plot, tag)
    post(
        plot, "examined", plot.pick("ex-1", "ex-1", "ex-1", "ex-1", "p-2"), asset=tag, points=points,
        airflow_lpm=plot.pick(180, 180, 180, 160, 150, None),
        result=plot.pick(*["pass"] * 6, "pass-after-repair", "fail"), instrument=plot.pick(None, "meter"),
        capacity_percent=plot.pick(None, None, 95, 70), filter_loading=plot.pick(None, None, 1, 4), **somewhere(plot),
    )  # fmt: skip


def wear(plot: Plot, tag: str) -> None:
    """Wear a unit for a while."""
    until = (plot.now + timedelta(hours=plot.pick(1, 4, 9, 14))).isoformat() if plot.chance(50) else None
    who = plot.pick("p-1", "p-1", person(plot))
    purpose = plot.pick(*[None] * 8, "routine", "training", "emergency", "fit-test")
    post(plot, "worn", who, asset=tag, wearer=who, until=until, purpose=purpose, **somewhere(plot))


def change_part(plot: Plot, tag: str) -> None:
    """Change, empty or identify a part."""
    positions = [found["position"] for found in MODELS[model_of(plot, tag)]["positions"]]
    if not positions:
        return
    position = plot.pick(*positions)
    kind = plot.pick("part-replaced", "filter-replaced", "part-identified")
    new = part(plot, position)
    if kind == "part-identified":
        post(plot, kind, person(plot), asset=tag, position=position, part=new)
        return
    out = {"serial": "cell-1"} if position == "battery" and plot.chance(50) else None
    if kind == "part-replaced" and plot.chance(20):
        post(plot, kind, person(plot), asset=tag, position=position, out=out, reason="damage")
        return
    post(plot, kind, person(plot), asset=tag, position=position, in_=new, out=out, reason="schedule")


def good_day(plot: Plot, tag: str) -> None:
    """Clean a unit, check it, hand it out, wear it; return it at the end, mostly."""
    points = {found["point"]: "pass" for found in MODELS[model_of(plot, tag)]["points"]}
    post(plot, "cleaned", "store", asset=tag, scope="unit", method="wiped")
    plot.now += timedelta(minutes=5)
    who = person(plot)
    post(plot, "checked", who, asset=tag, wearer=who, points=points, battery_percent=plot.pick(None, 90))
    post(plot, "issued", "store", asset=tag, holder={"person": who})
    plot.now += timedelta(minutes=5)
    until = (plot.now + timedelta(hours=3)).isoformat()
    post(plot, "worn", who, asset=tag, wearer=who, until=plot.pick(None, until))
    plot.now += timedelta(hours=4)
    if plot.chance(40):
        post(plot, "returned", who, asset=tag)


def clean(plot: Plot, tag: str) -> None:
    """Clean a unit or a part."""
    post(
        plot,
        "cleaned",
        person(plot),
        asset=tag,
        scope=plot.pick("unit", "unit", "part"),
        method="wiped",
        **somewhere(plot),
    )


def repair(plot: Plot, tag: str) -> None:
    """Repair a unit."""
    post(plot, "repaired", plot.pick("rep-1", "rep-1", "p-2"), asset=tag, work=["fan"], **somewhere(plot))


def fail_in_use(plot: Plot, tag: str) -> None:
    """Report a failure in use."""
    post(
        plot, "failed-in-use", person(plot), asset=tag, signs=[plot.pick("fan-stopped", "dropped")], wearer=person(plot)
    )


def quarantine(plot: Plot, tag: str) -> None:
    """Quarantine a unit, from a desk or with a place."""
    reason = plot.pick("failed", "damage", "contamination", "suspect", "recall", "overdue", "other")
    place = plot.pick(None, "cage")
    recall = plot.pick("r-1", "r-1", "r-2", None) if reason == "recall" else None
    post(plot, "quarantined", person(plot), asset=tag, reason=reason, place=place, recall=recall, **somewhere(plot))


def release(plot: Plot, tag: str) -> None:
    """Release a unit, sometimes on a voiding."""
    voidings = [one.message["id"] for one in plot.posted if one.message["kind"] == "voided"]
    voiding = plot.pick(*voidings) if voidings and plot.chance(50) else None
    by = plot.pick("rel-1", "rel-1", "rel-1", "p-2")
    post(plot, "released", by, asset=tag, voiding=voiding, key=plot.pick("desk", "lead", "office"))


def void(plot: Plot, tag: str) -> None:
    """Void something said of a unit, or a voiding."""
    about = [one for one in plot.posted if one.message.get("asset") == tag or one.message["kind"] == "voided"]
    target = plot.pick(*about[-12:]) if about else plot.posted[-1]
    by = plot.pick("m-1", "m-1", "m-1", target.message["by"])
    key = plot.pick(*[name for name in ("office", "desk", "lead") if name != target.key])
    post(plot, "voided", by, event=target.message["id"], reason="wrong unit", key=key)


def regret(plot: Plot, tag: str) -> None:
    """Void one's own check that failed by a reading alone."""
    points = {found["point"]: "pass" for found in MODELS[model_of(plot, tag)]["points"]}
    bad = post(plot, "checked", "p-1", asset=tag, wearer="p-1", points=points, airflow_lpm=159, key="office")
    post(plot, "voided", "p-1", event=bad.message["id"], reason="misread", key="desk")


def settle(plot: Plot, tag: str) -> None:
    """Bring a unit back the right way: examine it, act on a recall, release it."""
    examine(plot, tag)
    plot.now += timedelta(minutes=30)
    result = plot.pick("fixed", "not-affected", "fixed", "not-affected", "scrapped")
    post(plot, "recall-actioned", person(plot), asset=tag, recall=plot.pick("r-1", "r-1", "r-2"), result=result)
    plot.now += timedelta(minutes=30)
    release(plot, tag)


def forgive(plot: Plot, tag: str) -> None:
    """Void the last bad news of a unit, have it checked by another and release it on that."""
    bad = [
        one
        for one in plot.posted
        if one.message.get("asset") == tag and one.message["kind"] in {"quarantined", "failed-in-use"}
    ]
    if not bad:
        return
    key = plot.pick(*[name for name in ("office", "desk", "lead") if name != bad[-1].key])
    voided = post(plot, "voided", "m-1", event=bad[-1].message["id"], reason="wrong unit", key=key)
    plot.now += timedelta(minutes=20)
    points = {found["point"]: "pass" for found in MODELS[model_of(plot, tag)]["points"]}
    post(plot, "checked", "p-9", asset=tag, wearer="p-9", points=points)
    plot.now += timedelta(minutes=20)
    post(plot, "released", "rel-1", asset=tag, voiding=voided.message["id"], key="desk")


def move(plot: Plot, tag: str) -> None:
    """Send a unit to another site, or receive it."""
    if plot.chance(50):
        post(plot, "moved", "store", asset=tag, to_site=plot.pick(*SITES))
    else:
        post(plot, "received", "store", asset=tag, site=plot.pick(*SITES))


def lose(plot: Plot, tag: str) -> None:
    """Miss a unit, or find it."""
    if plot.chance(60):
        post(plot, "missing", person(plot), asset=tag, last_place=plot.pick(None, "bay-4"))
    else:
        post(plot, "found", person(plot), asset=tag, place=plot.pick(None, "bay-4"), **somewhere(plot))


def set_use(plot: Plot, tag: str) -> None:
    """Set the use of a unit."""
    use = plot.pick("routine", "occasional", "emergency", "escape")
    post(plot, "use-set", "m-1", asset=tag, use=use, authorised_by="m-1", reason="as planned")


def retire(plot: Plot, tag: str) -> None:
    """Retire a unit; later its tag or its serial number may come again."""
    if plot.chance(50):
        post(plot, "retired", "m-1", asset=tag, reason="worn-out", key="office")


def rename(plot: Plot, tag: str) -> None:
    """Give a unit a new tag, register its serial again, or use a retired unit's tag again."""
    new = f"U-{len(plot.tags) + 10}"
    model, serial = plot.serials.get(tag, ("hood", f"S-{tag}"))
    if plot.chance(40):
        post(plot, "retagged", "m-1", asset=tag, new_tag=new, key="office")
        plot.tags.append(new)
        plot.serials[new] = (model, serial)
    elif plot.chance(60):
        fitted_to = plot.pick(None, plot.pick(*plot.tags)) if model == "pack" else None
        other = plot.pick(model, model, "hood", OTHERS[model]) if model != "pack" else model
        register(plot, new, model=other, serial=serial.lower(), fitted_to=fitted_to)
    else:
        post(plot, "retired", "m-1", asset=tag, reason="worn-out", key="office")
        plot.now += timedelta(days=1)
        register(plot, tag, model=model, serial=f"{serial}-{plot.number()}")


def take_for_another(plot: Plot, tag: str) -> None:
    """Register a unit again as another model of its maker: one of the two is wrong, and nobody says which."""
    model, serial = plot.serials.get(tag, ("hood", f"S-{tag}"))
    if model in OTHERS:
        register(plot, tag, model=OTHERS[model], serial=serial)


def simple(kind: str, **fields: Any) -> Callable[[Plot, str], None]:
    """Make an act that says one thing."""

    def act(plot: Plot, tag: str) -> None:
        post(plot, kind, person(plot), asset=tag, **fields, **(somewhere(plot) if kind != "sent-to-service" else {}))

    return act


ACTS: list[Callable[[Plot, str], None]] = [
    *[check] * 14, *[wear] * 8, *[issue] * 8, *[examine] * 6, *[settle] * 14, *[good_day] * 14, *[clean] * 5,
    *[change_part] * 8, *[simple("returned")] * 6, *[simple("stationed", place="cab-1")] * 4, quarantine, quarantine,
    fail_in_use, *[repair] * 3, *[release] * 3, *[void] * 4, *[forgive] * 3, *[move] * 4, *[lose] * 3, regret, set_use,
    set_use, retire, rename, take_for_another, *[simple("sent-to-service", provider="maker-1")] * 2,
]  # fmt: skip


def unit_act(plot: Plot) -> None:
    """Do something to one of the units."""
    plot.pick(*ACTS)(plot, plot.pick(*plot.tags))
