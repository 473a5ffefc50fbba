"""The catalogue of kinds, checked for every kind against the tables of the contract, spelled out here."""

from pathlib import Path
from typing import Any

import msgspec
import pytest
from msgspec import inspect

import service.domain.kinds
from service.domain.codec import decode, encode
from service.domain.errors import Malformed
from service.domain.event import AssetEvent, Event
from service.domain.kinds import BY_NAME, KINDS, AnyEvent
from service.domain.words import REASON_PATTERN, TEXT_PATTERN
from tests.domain.strings import strings_in

each_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.kind)

ENVELOPE = "id occurred_at? occurred_on? by site? device? device_seq? sent_at? remark?"
REFERENCE = "effective_from? correction? reason?"
READINGS = "airflow_lpm? airflow_indicator? battery_percent? capacity_percent? filter_loading?"
CHECK = f"points {READINGS} wearer? instrument? action?"

FIELDS = {
    "registered": "asset model serial site size? use? made_on? acquired_on? fitted_to? parts?",
    "retagged": "asset new_tag",
    "use-set": "asset use authorised_by reason?",
    "issued": "asset holder task?",
    "returned": "asset place?",
    "stationed": "asset place",
    "moved": "asset to_site",
    "received": "asset site",
    "sent-to-service": "asset provider reference?",
    "worn": "asset wearer until? task? purpose? setting?",
    "checked": "asset " + CHECK,
    "failed-check": "asset " + CHECK,
    "failed-in-use": "asset signs left_area? wearer? task?",
    "examined": (
        "asset points airflow_lpm? cylinder_bar? capacity_percent? filter_loading? instrument? result defects? "
        "examiner_employer? certificate? report_sha256?"
    ),
    "filter-replaced": "asset position in out? reason",
    "part-replaced": "asset position in? out? reason",
    "part-identified": "asset position part",
    "cleaned": "asset scope position? method",
    "repaired": "asset points? work parts?",
    "quarantined": "asset reason place? recall?",
    "released": "asset voiding?",
    "missing": "asset last_place?",
    "found": "asset place?",
    "recall-actioned": "asset recall result",
    "retired": "asset reason disposal?",
    "trained": "person competences models? valid_until?",
    "fit-tested": "person model size method passed? exercises? valid_until?",
    "medically-cleared": "person until?",
    "assigned": "person task asset? until?",
    "authorisation-ended": "person of model?",
    "stock-received": "site item quantity unit lot? expires? place? order? line?",
    "stock-counted": "site item quantity unit lot? expires? place?",
    "stock-discarded": "site item quantity unit lot? expires? place? reason",
    "stock-moved": "site to_site item quantity unit lot? expires?",
    "reorder-approved": "proposal quantity? within_cap?",
    "order-placed": "proposal order lines? supplier? expected_on?",
    "order-cancelled": "order reason proposal?",
    "recall-opened": "recall action criteria due_on? notice? rehearsal?",
    "recall-closed": "recall outstanding?",
    "exception-acknowledged": "report row reason",
    "site-defined": "site name region? profile time_zone employer calendar opened_on? closed_on? " + REFERENCE,
    "model-defined": (
        "model name maker? device fit approvals minimum_flow_lpm? plausible_flow_lpm? settings? positions assemblies? "
        "points loading? battery? run_time? service_life_months? " + REFERENCE
    ),
    "item-defined": (
        "item name fit? size? gtin? part_number? unit pack_size? minimum_order? shelf_life_months? service_limit? "
        "after_opening_days? covers? lead_time_days? price? currency? " + REFERENCE
    ),
    "task-defined": "task name substances oxygen space floor_factor? worn_fraction? hours? " + REFERENCE,
    "policy-set": "policy scope values " + REFERENCE,
    "instrument-defined": "instrument name measures calibrated_on calibration_due " + REFERENCE,
    "voided": "event reason",
}
"""The fields of kinds.md; `?` = optional."""

ALONE = (
    "registered retagged use-set found received returned part-identified part-replaced filter-replaced cleaned "
    "repaired examined checked recall-actioned released issued stationed worn"
)
REST = (
    "failed-check failed-in-use moved sent-to-service quarantined missing retired stock-received stock-counted "
    "stock-discarded stock-moved reorder-approved order-placed order-cancelled recall-opened recall-closed "
    "exception-acknowledged voided"
)
RANKS = [
    "site-defined model-defined item-defined task-defined policy-set instrument-defined",
    "trained fit-tested medically-cleared assigned authorisation-ended",
    *ALONE.split(),
    REST,
]
"""R2's order."""

ALWAYS_ADVERSE = {
    "failed-check",
    "failed-in-use",
    "quarantined",
    "missing",
    "recall-opened",
    "authorisation-ended",
    "voided",
}
"""R1; `checked` and `examined` by their content."""

FAMILIES = {
    "asset": "registered retagged use-set issued returned stationed moved received sent-to-service worn checked "
    "failed-check failed-in-use examined filter-replaced part-replaced part-identified cleaned repaired quarantined "
    "released missing found recall-actioned retired",
    "person": "trained fit-tested medically-cleared assigned authorisation-ended",
    "stock": "stock-received stock-counted stock-discarded stock-moved",
    "order": "reorder-approved order-placed order-cancelled",
    "recall": "recall-opened recall-closed",
    "reference": "site-defined model-defined item-defined task-defined policy-set instrument-defined",
    "other": "exception-acknowledged voided",
}

SUBJECTS = {
    "registered": ("asset:FX-0142", "asset:FX-0140"),
    "retagged": ("asset:FX-0142", "asset:FX-1142"),
    "quarantined": ("asset:FX-0142", "recall:rc-2026-01"),
    "released": ("asset:FX-0142", "event:0198c1f2-7a10-7c3e-9b55-3f1d2ab40c09"),
    "recall-actioned": ("asset:FX-0142", "recall:rc-2026-01"),
    "stock-received": ("item:pf-170", "site:harrow-dock", "order:PO/2026/0071"),
    "stock-counted": ("item:pf-170", "site:harrow-dock"),
    "stock-discarded": ("item:pf-170", "site:harrow-dock"),
    "stock-moved": ("item:pf-170", "site:harrow-dock", "site:tern-yard"),
    "reorder-approved": ("proposal:pr-0071",),
    "order-placed": ("order:PO/2026/0071", "proposal:pr-0071"),
    "order-cancelled": ("order:PO/2026/0071", "proposal:pr-0071"),
    "recall-opened": ("recall:rc-2026-01",),
    "recall-closed": ("recall:rc-2026-01",),
    "exception-acknowledged": ("exception:used-without-check/0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",),
    "site-defined": ("site:harrow-dock",),
    "model-defined": ("model:northwind-2",),
    "item-defined": ("item:pf-170",),
    "task-defined": ("task:hull-welding",),
    "policy-set": ("policy:thorough-examination", "site:harrow-dock", "model:northwind-2"),
    "instrument-defined": ("instrument:flow-meter-2",),
    "voided": ("event:0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",),
}
"""Of the examples; the others name their asset or person alone."""

KEPT_OUT = {
    "use-set": {"reason"},
    "checked": {"action"},
    "failed-check": {"action"},
    "examined": {"defects[].found", "defects[].remedy"},
    "retired": {"disposal"},
    "stock-discarded": {"reason"},
    "order-cancelled": {"reason"},
    "recall-opened": {"notice"},
    "recall-closed": {"outstanding[].reason"},
    "exception-acknowledged": {"reason"},
    "voided": {"reason"},
    "site-defined": {"reason"},
    "model-defined": {"reason"},
    "item-defined": {"reason"},
    "task-defined": {"reason"},
    "policy-set": {"reason", "values.confined_proven.reason"},
    "instrument-defined": {"reason"},
}
"""Free text beside `remark`."""


def example_of(kind: type[Event], **changed: Any) -> Event:
    """Give the event of a kind's example, with some fields changed."""
    return decode(msgspec.json.encode(kind.example | changed))


def fields_of(kind: type[Event]) -> set[str]:
    """Give the names of a kind's fields, `?` on optional ones."""
    info = inspect.type_info(kind)
    assert isinstance(info, inspect.StructType)
    return {field.encode_name + ("" if field.required else "?") for field in info.fields}


def is_free_text(found: inspect.StrType) -> bool:
    """Say whether a string is typed as free text."""
    return found.pattern in (TEXT_PATTERN, REASON_PATTERN) and found.max_length == 500


def test_the_kinds_are_those_of_the_contract() -> None:
    """All 47, each once, in the contract's order."""
    assert [kind.kind for kind in KINDS] == list(FIELDS)
    assert list(BY_NAME) == list(FIELDS)
    assert len(KINDS) == 47


def test_every_kind_has_a_file_of_its_name_and_no_file_is_left_over() -> None:
    """The folder and the list say the same."""
    files = {path.stem for path in Path(service.domain.kinds.__path__[0]).glob("*.py")} - {"__init__"}
    assert files == {kind.kind.replace("-", "_") for kind in KINDS}
    assert {kind.__module__.rsplit(".", 1)[1] for kind in KINDS} == files


@each_kind
def test_a_kind_has_exactly_its_fields(kind: type[Event]) -> None:
    """The envelope and the kind's own, optional ones and needed ones as documented."""
    own = set(FIELDS[kind.kind].split())
    envelope = {field for field in ENVELOPE.split() if field.rstrip("?") not in own}
    assert fields_of(kind) == own | envelope


@each_kind
def test_a_kind_and_its_parts_are_frozen_and_refuse_unknown_fields(kind: type[Event]) -> None:
    """Nothing of an event can be changed, and nothing unknown slips in."""
    _, parts = msgspec.json.schema_components([kind])
    for part in parts.values():
        assert part["additionalProperties"] is False, part["title"]
    assert kind.__struct_config__.frozen
    assert kind.version == 1


@each_kind
def test_an_example_uses_every_field_and_survives_the_way_to_the_log_and_back(kind: type[Event]) -> None:
    """All fields but `occurred_on`, which excludes `occurred_at`; decoding what was encoded gives the same event."""
    event = example_of(kind)
    assert type(event) is kind
    assert set(kind.example) == {field.rstrip("?") for field in fields_of(kind)} - {"occurred_on"} | {"kind"}
    assert decode(encode(event)) == event
    assert encode(decode(encode(event))) == encode(event)


@each_kind
def test_a_date_serves_in_the_place_of_an_instant(kind: type[Event]) -> None:
    """Every kind but a wearing with an end takes `occurred_on`."""
    message = {name: value for name, value in kind.example.items() if name not in ("occurred_at", "until")}
    event = decode(msgspec.json.encode(message | {"occurred_on": "2026-03-02"}))
    assert event.occurred_at is None
    assert str(event.occurred_on) == "2026-03-02"


@each_kind
@pytest.mark.parametrize(
    ("content", "pointer", "detail"),
    [
        ({"occurred_at": None}, "/occurred_at", "one of occurred_at and occurred_on is needed"),
        ({"occurred_on": "2026-03-02"}, "/occurred_on", "only one of occurred_at and occurred_on may be given"),
        ({"occurred_at": "1899-12-31T23:59:59Z"}, "/occurred_at", "the year must be 1900 to 2200"),
    ],
)
def test_every_kind_has_one_moment_that_can_be(
    kind: type[Event], content: dict[str, Any], pointer: str, detail: str
) -> None:
    """Whatever else a kind checks, it checks what every event says."""
    with pytest.raises(Malformed) as refused:
        decode(msgspec.json.encode(kind.example | content))
    assert (refused.value.pointer, refused.value.detail) == (pointer, detail)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.family == "reference"], ids=lambda kind: kind.kind)
@pytest.mark.parametrize(
    ("content", "pointer", "detail"),
    [
        ({"correction": True, "effective_from": None}, "/effective_from", "a correction says since when it holds"),
        ({"correction": True, "reason": None}, "/reason", "a correction needs a reason"),
    ],
)
def test_a_correction_of_reference_data_says_since_when_and_why(
    kind: type[Event], content: dict[str, Any], pointer: str, detail: str
) -> None:
    """Whatever is corrected (R5)."""
    with pytest.raises(Malformed) as refused:
        decode(msgspec.json.encode(kind.example | content))
    assert (refused.value.pointer, refused.value.detail) == (pointer, detail)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.family == "reference"], ids=lambda kind: kind.kind)
def test_what_is_no_correction_needs_neither(kind: type[Event]) -> None:
    """Reference data may say from when on it holds, or leave that and the reason out."""
    message = kind.example | {"correction": False, "effective_from": None}
    if kind.kind != "policy-set":
        message["reason"] = None
    assert decode(msgspec.json.encode(message)).kind == kind.kind


@each_kind
def test_a_needed_field_that_is_left_out_is_named(kind: type[Event]) -> None:
    """Each needed field of each kind."""
    for field in fields_of(kind):
        if field.endswith("?"):
            continue
        message = {name: value for name, value in kind.example.items() if name != field}
        with pytest.raises(Malformed) as refused:
            decode(msgspec.json.encode(message))
        assert refused.value.pointer == f"/{field}"
        assert refused.value.detail == "is needed"


@each_kind
def test_a_kind_ranks_where_r2_puts_it(kind: type[Event]) -> None:
    """The rank is the place of the kind's group in R2's sentence."""
    (place,) = [place for place, kinds in enumerate(RANKS) if kind.kind in kinds.split()]
    assert kind.rank == place


@each_kind
def test_the_example_of_a_kind_is_adverse_only_where_r1_says_so(kind: type[Event]) -> None:
    """By kind; the examples of `checked` and `examined` are all good."""
    assert example_of(kind).adverse() is (kind.kind in ALWAYS_ADVERSE)


@pytest.mark.parametrize(
    ("kind", "content", "adverse"),
    [
        ("checked", {"points": {"airflow": "fail"}}, True),
        ("checked", {"points": {"airflow": "pass", "alarm": "not-applicable"}, "airflow_indicator": "below"}, True),
        ("checked", {"points": {"airflow": "pass", "alarm": "not-applicable"}, "airflow_indicator": "above"}, False),
        ("checked", {"points": {}, "airflow_lpm": 0}, False),
        ("examined", {"points": {"airflow": "fail"}, "result": "pass"}, True),
        ("examined", {"points": {"airflow": "pass"}, "result": "fail"}, True),
        ("examined", {"points": {"airflow": "pass"}, "result": "pass-after-repair"}, False),
        ("examined", {"points": {}, "result": "pass", "airflow_lpm": 0}, False),
        ("failed-check", {"points": {"airflow": "pass"}, "airflow_indicator": "above"}, True),
    ],
)
def test_a_check_is_adverse_by_its_own_content(kind: str, content: dict[str, Any], adverse: bool) -> None:
    """Any failing point, the indicator below its mark or a failing result; never by a reading (R1)."""
    assert example_of(BY_NAME[kind], **content).adverse() is adverse


@each_kind
def test_a_kind_belongs_to_one_family(kind: type[Event]) -> None:
    """As the headings of the contract group them."""
    (family,) = [family for family, kinds in FAMILIES.items() if kind.kind in kinds.split()]
    assert kind.family == family


@each_kind
def test_a_kind_names_its_subjects(kind: type[Event]) -> None:
    """The main one first; what else the example is about after it."""
    alone = {"asset": ("asset:FX-0142",), "person": ("person:p-3071",)}.get(kind.family, ())
    assert example_of(kind).subjects() == SUBJECTS.get(kind.kind, alone)


@pytest.mark.parametrize(
    ("kind", "left_out", "subjects"),
    [
        ("registered", "fitted_to", ("asset:FX-0142",)),
        ("quarantined", "recall", ("asset:FX-0142",)),
        ("released", "voiding", ("asset:FX-0142",)),
        ("stock-received", "order", ("item:pf-170", "site:harrow-dock")),
    ],
)
def test_what_is_not_said_is_no_subject(kind: str, left_out: str, subjects: tuple[str, ...]) -> None:
    """An optional reference that is left out names nothing."""
    message = {name: value for name, value in BY_NAME[kind].example.items() if name != left_out}
    assert decode(msgspec.json.encode(message)).subjects() == subjects


def test_a_policy_for_the_whole_firm_has_one_subject() -> None:
    """Neither site nor model."""
    event = example_of(BY_NAME["policy-set"], scope={"organisation": True})
    assert event.subjects() == ("policy:thorough-examination",)


@each_kind
def test_every_free_text_of_a_kind_is_kept_out_of_the_log_and_nothing_else(kind: type[Event]) -> None:
    """The paths are those of the fields typed as free text."""
    assert set(kind.kept_out) == {"remark"} | KEPT_OUT.get(kind.kind, set())
    assert set(kind.kept_out) == {path for path, found in strings_in(inspect.type_info(kind)) if is_free_text(found)}


def test_the_union_of_kinds_tells_them_apart_by_kind() -> None:
    """The schema's discriminator is `kind` and maps every name."""
    schema = msgspec.json.schema(AnyEvent)
    assert schema["discriminator"]["propertyName"] == "kind"
    assert set(schema["discriminator"]["mapping"]) == set(FIELDS)


HANDLING = [
    "checked",
    "cleaned",
    "examined",
    "failed-check",
    "failed-in-use",
    "filter-replaced",
    "issued",
    "moved",
    "part-identified",
    "part-replaced",
    "quarantined",
    "recall-actioned",
    "received",
    "repaired",
    "returned",
    "sent-to-service",
    "stationed",
    "worn",
]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if issubclass(kind, AssetEvent)], ids=lambda kind: kind.kind)
def test_who_handles_a_unit_has_it_at_hand(kind: type[AssetEvent]) -> None:
    """A missing unit that is handled is found (R41); what can be said from a desk alone finds nothing."""
    event = decode(msgspec.json.encode(kind.example))
    assert isinstance(event, AssetEvent)
    assert event.handles() is (kind.kind in HANDLING)
    seen = {*HANDLING, "found"} - {"received"}
    assert event.shows_site() is (kind.kind in seen)
