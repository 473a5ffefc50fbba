"""Whether a proposal adds up: each number is worked out again from those that it is said to follow from."""

from math import ceil, floor
from typing import Any

import pytest
from scipy import stats


def adds_up(proposal: Any) -> None:
    """Hold each number of a proposal that nobody has acted on against the others; quantiles are scipy's."""
    told, forecast = proposal["arithmetic"], proposal["forecast"]
    assert told["protected_days"] == told["lead_days"] + told["look_days"]
    weeks, parts = told["protected_days"] / 7, told["use_from"]
    assert parts["unforeseen"] == pytest.approx(forecast["unforeseen"]["per_week"] * weeks)
    assert parts["foretold"] == pytest.approx(forecast["foretold"]["per_week"] * weeks)
    either = max(parts["foretold"], parts["changes"])
    assert told["use_mean"] == pytest.approx(parts["unforeseen"] + either + parts["recalled"])
    assert told["reorder_point"] == _quantile(told)
    assert told["order_up_to"] - told["reorder_point"] == (
        max(1, ceil(round(told["use_between"], 9))) if told["use_mean"] else 0
    )
    assert told["position"] == pytest.approx(
        told["in_stock"] - told["expiring"] + told["on_order"] - told["owed"], abs=1e-9
    )
    needed = told["position"] <= told["reorder_point"]
    assert told["wanted"] == pytest.approx(told["order_up_to"] - told["position"] if needed else 0.0)
    assert told["transferred"] == sum(one["quantity"] for one in proposal["transfers"])
    assert told["rounded"] == pytest.approx(_rounded(told))
    if told["usable"] is not None:
        assert told["usable"]["expected"] == max(0, floor(told["usable"]["use_mean"] - told["position"]))
        assert told["usable"]["at_best"] >= told["usable"]["expected"]
    assert proposal["quantity"] == told["rounded"] if "expiry" not in told["limits"] else told["rounded"] >= 0


def _quantile(told: Any) -> int:
    mean, variance = told["use_mean"], told["use_variance"]
    assert variance >= mean
    if told["family"] == "none":
        assert mean == 0
        return 0
    if told["family"] == "poisson":
        assert variance == mean
        return int(stats.poisson.ppf(told["level"], mean))
    return int(stats.nbinom.ppf(told["level"], mean * mean / (variance - mean), mean / variance))


def _rounded(told: Any) -> float:
    left = told["wanted"] - told["transferred"]
    lifted = told["transferred"] > 0 and told["position"] + told["transferred"] > told["reorder_point"]
    if left <= 0 or lifted or {"closed", "untold"} & set(told["limits"]):
        return 0.0
    pack = told["pack_size"] or 1.0
    packs: float = ceil(round(max(left, told["minimum_order"] or 0.0) / pack, 9)) * pack
    return packs
