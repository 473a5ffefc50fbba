"""Models and items as their defining messages carry them."""

from itertools import product

from seed.items import ITEMS, Item
from seed.models import Model

PLAUSIBLE_LPM = [60, 400]
LEVELS = 5
CELLS = {"ar-cell": 52, "ar-cell-long": 96}
END_OF_LIFE = 70
LOW_BATTERY = 15
SETTINGS = (("normal", 0, 1.0), ("high", 30, 0.78))
LOADED_SHARE = 0.09


def model_fields(model: Model) -> dict[str, object]:
    """Write a model down: what it is, what sits in it, what a check looks at."""
    fields: dict[str, object] = {
        "model": model.ref,
        "name": model.name,
        "maker": model.maker,
        "device": model.device,
        "fit": model.fit,
        "approvals": [
            {
                "jurisdiction": one.jurisdiction,
                "class": one.cls,
                "standard": one.standard,
                "edition": one.edition,
                "number": one.number,
            }
            for one in model.approvals
        ],
        "positions": [
            {"position": one.position, "role": one.role, "items": list(one.items), "required": one.required}
            for one in model.positions
        ],
        "points": [
            {"point": one.point, "role": one.role, "required": one.required, "on_fail": one.on_fail}
            for one in model.points
        ],
        "service_life_months": 96,
    }
    return fields | (_powered(model) if model.powered else {})


def _powered(model: Model) -> dict[str, object]:
    return {
        "minimum_flow_lpm": model.lowest,
        "plausible_flow_lpm": PLAUSIBLE_LPM,
        "settings": [{"name": name, "flow_lpm": model.lowest + more} for name, more, _ in SETTINGS],
        "loading": {"levels": LEVELS, "change_at": model.change_at},
        "battery": {"low_percent": LOW_BATTERY, "capacity_wh": CELLS["ar-cell"], "end_of_life_percent": END_OF_LIFE},
        "run_time": run_times(),
        "assemblies": [{"name": "standard", "items": {one.position: list(one.items) for one in model.positions}}],
    }


def run_times() -> list[dict[str, object]]:
    """Draw an invented curve: a full filter and the high setting both shorten the time."""
    return [
        {
            "battery_item": cell,
            "setting": name,
            "loading": loading,
            "minutes": int(hours * 60 / 8.5 * share * (1 - LOADED_SHARE * loading)),
        }
        for (cell, hours), (name, _, share), loading in product(CELLS.items(), SETTINGS, range(LEVELS))
    ]


def gtin(item: Item) -> str:
    """Give an item a GTIN-13 of its own, of the prefix 952, which GS1 keeps for demonstrations and examples.

    The check digit is that of the GS1 General Specifications, section 7.9.
    """
    digits = f"9522011{ITEMS.index(item) + 1:05d}"
    return f"{digits}{-sum(int(digit) * (1, 3)[place % 2] for place, digit in enumerate(digits)) % 10}"


def item_fields(item: Item) -> dict[str, object]:
    """Write an item down; what it has no value for is left out."""
    fields: dict[str, object] = {
        "item": item.ref,
        "name": item.name,
        "fit": item.fit,
        "size": item.size,
        "part_number": f"VG-{item.mark}-{len(item.name):03d}",
        "gtin": gtin(item),
        "unit": "each",
        "pack_size": item.pack,
        "minimum_order": item.pack,
        "shelf_life_months": item.shelf_months or None,
        "service_limit": {"days": item.days} if item.days else None,
        "after_opening_days": item.opened_days or None,
        "covers": list(item.covers) or None,
        "lead_time_days": 7,
        "price": item.price,
        "currency": "GBP",
    }
    return {name: value for name, value in fields.items() if value is not None}
