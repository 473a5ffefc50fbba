"""What is said of persons, and how the firm's own rules change, in the random histories."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from tests.oracle.acts import PEOPLE, SET_UP, post, set_up_id
from tests.oracle.firm import HOOD, WEEKDAYS, item, policy, site

if TYPE_CHECKING:
    from tests.oracle.histories import Plot

POLICIES: list[tuple[str, dict[str, Any]]] = [
    ("thorough-examination", {"interval": "P2W"}),
    ("thorough-examination", {"interval": {"routine": "P10D"}, "due_soon": "P3D"}),
    ("pre-use-check", {"cover": "PT8H"}),
    ("pre-use-check", {"count": "worn"}),
    ("pre-use-check", {"count": "working-days"}),
    ("cleaning", {"between_wearers": False}),
    ("scope", {"in_store": True}),
    ("acceptance", {"examination": True}),
    ("filter-life", {"due_soon": "P14D"}),
    ("clock", {"tolerance": "PT10M"}),
]


def person_act(plot: Plot) -> None:
    """Train somebody, or end an authorisation."""
    who = plot.pick(*PEOPLE)
    skill = plot.pick("examine", "repair", "release")
    if plot.chance(30):
        post(plot, "authorisation-ended", "m-1", person=who, of=skill, key=plot.pick("office", "lead"))
        return
    until = (plot.now + timedelta(days=plot.pick(0, 5, 90))).date().isoformat() if plot.chance(40) else None
    by = plot.pick("adm", "adm", who)
    post(plot, "trained", by, person=who, competences=["wear", skill], valid_until=until, key="office")


def reference_act(plot: Plot) -> None:
    """Change a policy, a site, a model, an item or an instrument, or take a model back."""
    change = (change_site, change_model, change_item, calibrate, take_back)
    plot.pick(change_policy, change_policy, change_policy, *change)(plot)


def again(plot: Plot, message: dict[str, Any]) -> None:
    """Post reference data, now and then as a correction of the past."""
    fields = {name: value for name, value in message.items() if name not in {"kind", "by", "occurred_at"}}
    if plot.chance(30):
        fields["effective_from"] = (plot.now + timedelta(days=plot.pick(-20, -3, 2))).isoformat()
        fields |= plot.pick({}, {"correction": True, "reason": "was wrong"})
    if "reason" not in fields and message["kind"] == "policy-set":
        fields["reason"] = "as agreed"
    post(plot, message["kind"], "adm", key="office", **fields)


def change_policy(plot: Plot) -> None:
    """Set a policy for the organisation, a site or a model."""
    name, values = plot.pick(*POLICIES)
    scope = plot.pick({}, {"site": "dock"}, {"model": "hood"}, {"site": "mesa", "model": "hood"})
    again(plot, policy(name, values, **scope).message)


def change_site(plot: Plot) -> None:
    """Change the calendar of a site, or move another to a new time zone."""
    if plot.chance(30):
        zone = plot.pick("America/New_York", "America/Chicago", "Asia/Kolkata")
        again(plot, site("mesa", "us", zone, opened_on=plot.pick(None, "2026-01-10")).message)
        return
    day = plot.now.date()
    gap = {"from": (day - timedelta(days=2)).isoformat(), "to": (day + timedelta(days=1)).isoformat()}
    days = plot.pick(WEEKDAYS, [*WEEKDAYS, "sat", "sun"])
    again(plot, site("dock", "uk", "Europe/London", closed=plot.pick([], [gap]), working_days=days).message)


def change_model(plot: Plot) -> None:
    """Change the limits of the hood, and what is approved to be fitted together."""
    battery = HOOD["battery"] | {"low_percent": plot.pick(10, 20, 30), "end_of_life_percent": plot.pick(60, 80, 90)}
    loading = {"levels": 5, "change_at": plot.pick(2, 4, 5)}
    allowed = {"particle-filter": ["p3", "p3-shift"], "battery": ["cell"]}
    together = plot.pick([], [], [{"name": "a", "items": allowed}, {"name": "b", "items": {"pre-filter": ["other"]}}])
    limits = {"minimum_flow_lpm": plot.pick(150, 160, 170), "battery": battery, "loading": loading}
    again(plot, {"kind": "model-defined", **HOOD, **limits, "assemblies": together})


def take_back(plot: Plot) -> None:
    """Void the first definition of a model, mostly the only one: its units are of a model that nothing defines."""
    model = plot.pick("cowl", "mask", "cowl", "mask", "hood")
    defined = [one.message["model"] if one.message["kind"] == "model-defined" else None for one in SET_UP]
    post(plot, "voided", "m-1", event=set_up_id(defined.index(model) + 1), reason="another maker's", key="office")


def change_item(plot: Plot) -> None:
    """Change how long an item may serve."""
    ref = plot.pick("p3", "p3-shift", "p3-hours", "abek", "abek-open", "cell")
    limit = plot.pick(
        {}, {"service_limit": {"shifts": plot.pick(1, 3)}}, {"service_limit": {"hours": plot.pick(2, 9.5)}}
    )
    again(plot, item(ref, **limit, **plot.pick({}, {}, {"after_opening_days": 3})).message)


def calibrate(plot: Plot) -> None:
    """Give the meter a new calibration."""
    day = plot.now.date()
    due = day + timedelta(days=plot.pick(-1, 20, 365))
    fields = {"instrument": "meter", "name": "Flow meter", "measures": ["airflow"]}
    dates = {"calibrated_on": (day - timedelta(days=5)).isoformat(), "calibration_due": due.isoformat()}
    again(plot, {"kind": "instrument-defined", **fields, **dates})
