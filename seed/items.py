"""The invented consumables and spares, how long they last, and how much of each a site keeps.

What may live here: the firm's own definition of each item, as a table.
"""

import msgspec


class Item(msgspec.Struct, frozen=True):
    """One item; its lots begin with `mark`.

    `days` is its service limit and `opened_days` its time since opening, 0 where there is none.
    `keep` is what a site keeps of it, `life` the working days after which the demo changes it; 0: only when it fails.
    """

    ref: str
    mark: str
    name: str
    price: str
    keep: int
    fit: str | None = None
    size: str | None = None
    covers: tuple[str, ...] = ()
    shelf_months: int = 0
    days: int = 0
    opened_days: int = 0
    pack: int = 1
    life: int = 0


ITEMS: tuple[Item, ...] = (
    Item("ar-p3", "R", "Particle filter P3 for Ardwhin blowers", "31.50", 60, covers=("P3",), shelf_months=60, pack=2),
    Item("ar-pre", "Q", "Pre-filter pad for Ardwhin blowers", "1.20", 120, shelf_months=60, pack=20, life=28),
    Item("ar-spark", "S", "Spark arrestor mesh", "9.80", 16, life=90),
    Item("ar-tube", "U", "Breathing tube, rubber", "44.00", 12),
    Item("ar-tube-heat", "T", "Breathing tube, heat sleeve", "58.00", 8),
    Item("ar-tube-old", "X", "Breathing tube of the former series", "39.00", 0),
    Item("ar-cell", "C", "Battery pack, standard", "148.00", 10),
    Item("ar-cell-long", "D", "Battery pack, long", "205.00", 6),
    Item("ar-hood", "H", "Loose hood headtop", "96.00", 6, fit="loose"),
    Item("ar-visor", "V", "Welding visor headtop", "240.00", 6, fit="loose"),
    Item("ar-face-s", "F", "Full facepiece, small", "180.00", 2, fit="tight", size="S"),
    Item("ar-face-m", "G", "Full facepiece, medium", "180.00", 3, fit="tight", size="M"),
    Item("ar-face-l", "J", "Full facepiece, large", "180.00", 2, fit="tight", size="L"),
    Item("pe-p3", "M", "P3 filters for Pelloran half masks", "12.40", 40, covers=("P3",), shelf_months=60, days=30),
    Item(
        "pe-abek-p3", "A", "Combined gas and P3 filter for Pelloran full masks", "38.00", 14,
        covers=("A", "B", "E", "K", "P3"), shelf_months=48, opened_days=180,
    ),
    Item("wipe-pack", "W", "Cleaning wipes without solvent", "6.30", 20, pack=100),
)  # fmt: skip

BY_REF = {item.ref: item for item in ITEMS}
