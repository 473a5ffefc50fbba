"""What holds where neither a policy nor a law speaks: this service's own choices, not law. Periods are ISO 8601."""

Value = str | bool | float | None

DEFAULTS: dict[str, dict[str, Value]] = {
    "thorough-examination": {"due_soon": "P7D"},
    "pre-use-check": {"cover": "PT12H", "count": "working-days", "in_use_recheck": None},
    "cleaning": {"between_wearers": True},
    "scope": {"in_store": False},
    "acceptance": {"examination": False},
    "service-level": {"level": 0.95},
    "order-cap": {"amount": None, "currency": None},
    "filter-life": {"due_soon": "P7D"},
    "protection": {"equality_suffices": True, "tasks_required": False, "confined_proven": None},
    "clock": {"tolerance": "PT5M"},
}
