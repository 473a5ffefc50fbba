"""What a check or an examination proves, from its readings and the model of its day."""

from dataclasses import dataclass
from datetime import date

from tests.oracle.fact import Fact
from tests.oracle.record import Message
from tests.oracle.reference import Book

JUDGED = frozenset({"checked", "failed-check", "examined"})


@dataclass(frozen=True)
class Verdict:
    """The results by point as judged, what failures ask for (`recheck`, `withdraw`), and whether all passed."""

    results: dict[str, str]
    asks: frozenset[str]
    complete: bool

    @property
    def failing(self) -> bool:
        """Say whether anything failed."""
        return bool(self.asks)

    def shown(self, model: Message | None, roles: frozenset[str]) -> bool:
        """Say whether every point of these roles passed, there being one at least."""
        points = [point["point"] for point in (model or {}).get("points", []) if point.get("role") in roles]
        return bool(points) and all(self.results.get(point) == "pass" for point in points)


def calibrated(fact: Fact, book: Book) -> bool:
    """Say whether the instrument named, if any, was in calibration on the day of the act."""
    name = fact.get("instrument")
    if name is None:
        return True
    found = book.thing("instrument", name, fact.versions_at)
    if found is None:
        return False
    first, last = date.fromisoformat(found["calibrated_on"]), date.fromisoformat(found["calibration_due"])
    return first <= fact.local_day <= last


def plausible(flow: float, model: Message) -> bool:
    """Say whether a flow reading lies in the model's plausible range."""
    low, high = model.get("plausible_flow_lpm") or (float("-inf"), float("inf"))
    return bool(low <= flow <= high)


def too_low(fact: Fact, model: Message) -> bool:
    """Say whether the indicator or the reading shows too little air; exactly the minimum is enough."""
    flow, minimum = fact.get("airflow_lpm"), model.get("minimum_flow_lpm")
    return fact.get("airflow_indicator") == "below" or (flow is not None and minimum is not None and flow < minimum)


def proves_flow(fact: Fact, model: Message, book: Book) -> bool:
    """Say whether a flow reading, if given, can be believed."""
    flow = fact.get("airflow_lpm")
    return flow is None or (plausible(flow, model) and calibrated(fact, book))


def flat(fact: Fact, model: Message) -> bool:
    """Say whether the charge read lies under the model's low mark."""
    charge, low = fact.get("battery_percent"), (model.get("battery") or {}).get("low_percent")
    return charge is not None and low is not None and bool(charge < low)


def result(point: Message, fact: Fact, model: Message, book: Book) -> str:
    """Judge one point: pass, fail, or missing where nothing is shown."""
    said = (fact.get("points") or {}).get(point["point"])
    role = point.get("role")
    if (role == "airflow" and too_low(fact, model)) or (role == "battery" and flat(fact, model)):
        return "fail"
    if role == "airflow" and said == "pass" and not proves_flow(fact, model, book):
        return "missing"
    return said if said in {"pass", "fail"} else "missing"


def asked(fact: Fact, model: Message, results: dict[str, str]) -> set[str]:
    """Say what the failures ask for."""
    points = model.get("points") or []
    roles = {point.get("role") for point in points}
    known = {point["point"] for point in points}
    asks = {point["on_fail"] for point in points if results[point["point"]] == "fail"}
    if any(said == "fail" for name, said in (fact.get("points") or {}).items() if name not in known):
        asks.add("withdraw")
    if too_low(fact, model) and "airflow" not in roles:
        asks.add("withdraw")
    if flat(fact, model) and "battery" not in roles:
        asks.add("recheck")
    if not asks and (fact.kind == "failed-check" or fact.get("result") == "fail"):
        asks.add("withdraw")
    return asks


def judge(fact: Fact, model: Message | None, book: Book) -> Verdict:
    """Judge a check or an examination by the model in force at its moment; without a model nothing is proved."""
    known = model or {}
    points = known.get("points") or []
    results = {point["point"]: result(point, fact, known, book) for point in points}
    asks = asked(fact, known, results)
    required = [point["point"] for point in points if point["required"]]
    shown = model is not None and all(results[name] == "pass" for name in required)
    return Verdict(results, frozenset(asks), shown and not asks)


def measured(fact: Fact, model: Message, book: Book) -> bool:
    """Say whether the flow of a powered unit was shown, at least the maker's minimum (L5 para 184, item 6)."""
    if model["device"] != "powered":
        return True
    flow, minimum = fact.get("airflow_lpm"), model.get("minimum_flow_lpm")
    return flow is not None and minimum is not None and flow >= minimum and proves_flow(fact, model, book)
