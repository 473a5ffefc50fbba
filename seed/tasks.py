"""Three tasks of the group with invented measurements against published limits.

Limits: respirable manganese 0.05 mg/m3 (UK, EH40; read second-hand), respirable crystalline silica 0.1 mg/m3 (UK, EH40
addendum; read in the text) and 0.05 mg/m3 (US, 29 CFR 1910.1053; read second-hand). The floor of 20 for welding is
HSE STSU1-2019, read second-hand. All concentrations are invented.
"""


def _substance(name: str, concentration: float, limit: float, source: str) -> dict[str, object]:
    return {
        "name": name, "fraction": "respirable", "concentration": concentration, "unit": "mg/m3",
        "limit": limit, "limit_basis": "8-hour average", "limit_source": source, "filter_types": ["P3"],
    }  # fmt: skip


TASKS: tuple[dict[str, object], ...] = (
    {
        "task": "bay-welding",
        "name": "Welding mild steel in the bays",
        "substances": [_substance("manganese", 0.45, 0.05, "EH40")],
        "oxygen": "proven",
        "space": "open",
        "floor_factor": 20,
        "worn_fraction": 0.95,
        "hours": 5,
    },
    {
        "task": "edge-grinding",
        "name": "Grinding edges and seams",
        "substances": [_substance("manganese", 0.3, 0.05, "EH40")],
        "oxygen": "proven",
        "space": "open",
        "hours": 4,
    },
    {
        "task": "blast-cleaning",
        "name": "Cleaning up after blasting",
        "substances": [_substance("crystalline silica", 0.6, 0.05, "29 CFR 1910.1053")],
        "oxygen": "proven",
        "space": "open",
        "worn_fraction": 0.9,
        "hours": 6,
    },
)
