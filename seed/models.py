"""The six invented models: what each is, what a check of it looks at, what sits in it.

What may live here: the firm's own definition of each model, as a table. Classes and norms are the kinds a real unit
would have; makers, names, numbers and curves are invented.
"""

import msgspec

FILTER_ROLES = frozenset({"particle", "gas", "pre-filter", "spark-arrestor"})


class Position(msgspec.Struct, frozen=True):
    """Where a part sits: its role, the items listed for it, and whether it may be empty."""

    position: str
    role: str
    items: tuple[str, ...]
    required: bool = True


class Point(msgspec.Struct, frozen=True):
    """What a check looks at, and what its failure means: `recheck` or `withdraw`."""

    point: str
    role: str
    on_fail: str
    required: bool = True


class Approval(msgspec.Struct, frozen=True):
    """A recognised approval in one jurisdiction."""

    jurisdiction: str
    cls: str
    standard: str
    edition: str
    number: str


class Model(msgspec.Struct, frozen=True):
    """One model: `lowest` is its minimum flow in L/min, 0 on unpowered ones, `change_at` the loading to change at."""

    ref: str
    name: str
    maker: str
    device: str
    fit: str
    positions: tuple[Position, ...]
    points: tuple[Point, ...]
    approvals: tuple[Approval, ...]
    lowest: int = 0
    change_at: int = 0

    @property
    def powered(self) -> bool:
        """Say whether a fan moves the air."""
        return self.device == "powered"

    @property
    def sized(self) -> bool:
        """Say whether wearers need their own size."""
        return self.fit == "tight"

    def position(self, name: str) -> Position:
        """Find a position by its name."""
        return next(position for position in self.positions if position.position == name)

    def point_of(self, role: str) -> str:
        """Name the first point of a role."""
        return next(point.point for point in self.points if point.role == role)


PARTICLE = Position("particle-filter", "particle", ("ar-p3",))
PRE = Position("pre-filter", "pre-filter", ("ar-pre",), required=False)
SPARK = Position("spark-arrestor", "spark-arrestor", ("ar-spark",))
TUBE = Position("breathing-tube", "tube", ("ar-tube", "ar-tube-heat"))
BATTERY = Position("battery", "battery", ("ar-cell", "ar-cell-long"))

POWERED_POINTS = (
    Point("airflow", "airflow", "withdraw"),
    Point("low-flow-alarm", "alarm", "withdraw"),
    Point("filters-fitted", "filters", "recheck"),
    Point("breathing-tube", "tube", "withdraw"),
    Point("battery", "battery", "recheck"),
)
MASK_POINTS = (
    Point("face-seal", "face-seal", "recheck"),
    Point("filters-fitted", "filters", "recheck"),
    Point("valves", "other", "withdraw"),
    Point("straps", "other", "withdraw"),
)


def uk(cls: str, standard: str, edition: str, number: str) -> Approval:
    """Make an approval recognised in the uk profile."""
    return Approval("uk", cls, standard, edition, number)


def us(cls: str, number: str) -> Approval:
    """Make an approval recognised in the us profile."""
    return Approval("us", cls, "42 CFR 84", "2020", number)


MODELS: tuple[Model, ...] = (
    Model(
        ref="ar-hood-2", name="Ardwhin Hood 2", maker="Ardwhin Airworks", device="powered", fit="loose",
        positions=(PARTICLE, PRE, TUBE, BATTERY, Position("headtop", "headtop", ("ar-hood",))),
        points=(*POWERED_POINTS, Point("hood", "other", "withdraw", required=False)),
        approvals=(uk("TH3", "EN 12941", "2023", "DEMO-TH-2001"), us("papr-loose-hood", "DEMO-21-2001")),
        lowest=170, change_at=4,
    ),
    Model(
        ref="ar-visor-4", name="Ardwhin Visor 4", maker="Ardwhin Airworks", device="powered", fit="loose",
        positions=(PARTICLE, PRE, SPARK, TUBE, BATTERY, Position("headtop", "headtop", ("ar-visor",))),
        points=(*POWERED_POINTS, Point("weld-lens", "other", "recheck", required=False)),
        approvals=(uk("TH3", "EN 12941", "2023", "DEMO-TH-4001"), us("papr-loose", "DEMO-21-4001")),
        lowest=170, change_at=4,
    ),
    Model(
        ref="ar-face-3", name="Ardwhin Face 3", maker="Ardwhin Airworks", device="powered", fit="tight",
        positions=(
            PARTICLE, TUBE, BATTERY, Position("headtop", "headtop", ("ar-face-s", "ar-face-m", "ar-face-l")),
        ),
        points=(*POWERED_POINTS, Point("face-seal", "face-seal", "recheck")),
        approvals=(uk("TM3", "EN 12942", "2023", "DEMO-TM-3001"), us("papr-full", "DEMO-23-3001")),
        lowest=120, change_at=4,
    ),
    Model(
        ref="pe-half-1", name="Pelloran Half 1", maker="Pelloran Masks", device="negative-pressure", fit="tight",
        positions=(Position("particle-filter", "particle", ("pe-p3",)),),
        points=MASK_POINTS,
        approvals=(uk("half-P3", "EN 140", "1998", "DEMO-HM-1001"), us("half-P100", "DEMO-84A-1001")),
    ),
    Model(
        ref="pe-full-2", name="Pelloran Full 2", maker="Pelloran Masks", device="negative-pressure", fit="tight",
        positions=(Position("gas-filter", "gas", ("pe-abek-p3",)),),
        points=(*MASK_POINTS, Point("visor", "other", "withdraw")),
        approvals=(uk("full-P3", "EN 136", "1998", "DEMO-FM-2001"), us("full-P100", "DEMO-84A-2001")),
    ),
    Model(
        ref="ar-top-1", name="Ardwhin Headtop 1", maker="Ardwhin Airworks", device="negative-pressure", fit="loose",
        positions=(),
        points=(
            Point("shell", "other", "withdraw"),
            Point("harness", "other", "withdraw"),
            Point("curtain", "other", "withdraw"),
        ),
        approvals=(),
    ),
)  # fmt: skip

BY_REF = {model.ref: model for model in MODELS}
