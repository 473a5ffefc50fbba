"""Bytes in, events out, and every bad input told apart."""

import base64
import hashlib
import hmac
from typing import Any
from uuid import UUID

import msgspec
import pytest

from service.domain import codec
from service.domain.errors import Malformed, NotJson
from service.domain.kinds import BY_NAME
from service.domain.kinds.checked import Checked
from service.domain.kinds.examined import Examined

CHECKED = BY_NAME["checked"].example
ASSEMBLY = {"name": "a", "items": {"battery": ["bat-64"], "tube": ["tube-9", "tube 9"]}}


def checked(**content: Any) -> bytes:
    """Write the example of a check with some fields changed."""
    return msgspec.json.encode(CHECKED | content)


def refused(raw: bytes) -> tuple[str, str]:
    """Give the pointer and the detail of a refusal."""
    with pytest.raises(Malformed) as error:
        codec.decode(raw)
    return error.value.pointer, error.value.detail


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"   ",
        b"{",
        b'{"kind":"checked"',
        b"{'kind':'checked'}",
        b'{"kind":"checked",}',
        b"\xef\xbb\xbf{}",
        b"\x00",
        b"\xff\xfe",
        b"nonsense",
        checked() + b" x",
        b"{} and more",
        b"[1,",
        b'{"by":"\xff"}',
        checked().replace(b'"p-3071"', b'"p-\xff"', 1),
        checked().replace(b'"p-3071"', b'"\\ud800"', 1),
        checked().replace(b'"p-3071"', b'"\\udc00"', 1),
        checked().replace(b'"p-3071"', "\ud800".encode("utf-8", "surrogatepass").join([b'"', b'"']), 1),
        checked().replace(b"186.0", b"NaN"),
        checked().replace(b"186.0", b"Infinity"),
        checked().replace(b"186.0", b"0x10"),
        checked().replace(b"186.0", b"01"),
    ],
)
def test_what_is_no_json_text_in_utf_8_is_called_that(raw: bytes) -> None:
    """RFC 8259: syntax, numbers, UTF-8 and paired surrogates."""
    with pytest.raises(NotJson):
        codec.decode(raw)


@pytest.mark.parametrize(
    ("raw", "pointer", "detail"),
    [
        (b"[]", "", "must be an object, not a list"),
        (b"null", "", "must be an object, not null"),
        (b"17", "", "must be an object, not a whole number"),
        (b'"checked"', "", "must be an object, not a text"),
        (b"true", "", "must be an object, not true or false"),
        (b"{}", "/kind", "is needed"),
        (b'{"kind":"unheard-of"}', "/kind", "'unheard-of' is no kind of event; openapi.json lists the kinds"),
        (b'{"kind":"Checked"}', "/kind", "'Checked' is no kind of event; openapi.json lists the kinds"),
        (b'{"kind":null}', "/kind", "must be a text"),
        (b'{"kind":1}', "/kind", "must be a text"),
        (b'{"kind":["checked"]}', "/kind", "must be a text"),
        (checked(airflow="pass"), "/airflow", "no such field here"),
        (checked(**{"a~/b": 1}), "/a~0~1b", "no such field here"),
        (checked(**{"": 1}), "/", "no such field here"),
        (checked(seq=1), "/seq", "no such field here"),
        (checked(asset=17), "/asset", "must be a text, not a whole number"),
        (checked(asset=None), "/asset", "must be a text, not null"),
        (checked(asset=["FX-0142"]), "/asset", "must be a text, not a list"),
        (checked(asset="FX 0142"), "/asset", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        (checked(asset="FX-0142\n"), "/asset", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        (checked(asset="\x00"), "/asset", "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -"),
        (checked(remark="nul \x00"), "/remark", "must be text without control characters"),
        (checked(remark="x" * 501), "/remark", "must have at most 500 characters"),
        (checked(id="17"), "/id", "must be a UUID such as 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"),
        (checked(id=17), "/id", "must be a UUID, not a whole number"),
        (checked(occurred_at="2026-03-02T05:51:40"), "/occurred_at", "must say its offset from UTC, as in 2026-03-02T"),
        (checked(occurred_at="2026-03-02"), "/occurred_at", "must be an instant such as 2026-03-02T05:51:40+00:00"),
        (checked(occurred_at="2016-12-31T23:59:60Z"), "/occurred_at", "must be an instant such as 2026-03-02T05:51:40"),
        (checked(occurred_at="2026-02-30T00:00:00Z"), "/occurred_at", "must be an instant such as 2026-03-02T05:51:40"),
        (checked(occurred_at="2026-03-02T05:51:40+24:00"), "/occurred_at", "must be an instant such as 2026-03-02T05"),
        (checked(occurred_at="9999-12-31T23:59:59.9999999Z"), "/occurred_at", "must be an instant such as 2026-03-02T"),
        (checked(occurred_at=1772430700), "/occurred_at", "must be an instant, not a whole number"),
        (checked(occurred_at="yesterday"), "/occurred_at", "must be an instant such as 2026-03-02T05:51:40+00:00"),
        (checked(occurred_on="2026-02-30"), "/occurred_on", "must be a day of the calendar such as 2026-03-02"),
        (checked(device_seq=-1), "/device_seq", "must be at least 0"),
        (checked(device_seq=2**63), "/device_seq", "must be at most 9223372036854775807"),
        (checked(device_seq=10**40), "/device_seq", "must be at most 9223372036854775807"),
        (checked(device_seq=True), "/device_seq", "must be a whole number, not true or false"),
        (checked(device_seq=1.5), "/device_seq", "must be a whole number, not a number with a fraction"),
        (checked(device_seq="1"), "/device_seq", "must be a whole number, not a text"),
        (checked(airflow_lpm=-1), "/airflow_lpm", "must be at least 0"),
        (checked(airflow_lpm=2001), "/airflow_lpm", "must be at most 2000"),
        (checked(airflow_lpm=10**40), "/airflow_lpm", "must be at most 2000"),
        (checked(airflow_lpm="186"), "/airflow_lpm", "must be a number, not a text"),
        (checked(airflow_lpm=False), "/airflow_lpm", "must be a number, not true or false"),
        (checked().replace(b"186.0", b"1e400"), "/airflow_lpm", "Number out of range"),
        (checked().replace(b"186.0", b"-1e400"), "/airflow_lpm", "Number out of range"),
        (checked().replace(b"186.0", b"9" * 5000), "/airflow_lpm", "Number out of range"),
        (checked(battery_percent=100.5), "/battery_percent", "must be at most 100"),
        (
            checked(airflow_indicator="beside"),
            "/airflow_indicator",
            "must be one of above, below",
        ),
        (checked(filter_loading=101), "/filter_loading", "must be at most 100"),
        (
            checked(filter_loading=1.5),
            "/filter_loading",
            "must be a whole number or an object, not a number with a fraction",
        ),
        (checked(filter_loading=[1]), "/filter_loading", "must be a whole number or an object, not a list"),
        (checked(filter_loading={"p": 1, "q": 101, "r": 1}), "/filter_loading/q", "must be at most 100"),
        (checked(points=[]), "/points", "must be an object, not a list"),
        (
            checked(points={"a": "pass", "b": "maybe", "c": "pass"}),
            "/points/b",
            "must be one of pass, fail, not-applicable",
        ),
        (checked(points={"a": "pass", "b": 1}), "/points/b", "must be a text, not a whole number"),
        (checked(points={"a": "pass", "b/~": "pass"}), "/points/b~1~0", "must be a reference: 1 to 40 of the"),
        (checked(points={f"p{n}": "pass" for n in range(101)}), "/points", "must have at most 100 entries"),
        (checked(points={f"p{n}": 1 for n in range(101)}), "/points", "must have at most 100 entries"),
        (
            msgspec.json.encode(BY_NAME["model-defined"].example | {"assemblies": [ASSEMBLY]}),
            "/assemblies/0/items/tube/1",
            "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -",
        ),
        (
            msgspec.json.encode(
                BY_NAME["examined"].example | {"defects": [{"point": "a", "found": "b"}, {"point": "a"}]}
            ),
            "/defects/1/found",
            "is needed",
        ),
        (
            msgspec.json.encode(BY_NAME["issued"].example | {"holder": {"person": "p-1", "name": "N"}}),
            "/holder/name",
            "no such field here",
        ),
        (
            msgspec.json.encode(BY_NAME["quarantined"].example | {"reason": "  "}),
            "/reason",
            "must be one of failed, damage, contamination, suspect, recall, overdue, other",
        ),
        (
            msgspec.json.encode(BY_NAME["voided"].example | {"reason": "  "}),
            "/reason",
            "must be text that says something, without control characters",
        ),
        (
            msgspec.json.encode(BY_NAME["policy-set"].example | {"policy": "coffee"}),
            "/policy",
            "must be one of thorough-examination, pre-use-check, cleaning, scope, acceptance, service-level",
        ),
        (
            msgspec.json.encode(BY_NAME["policy-set"].example | {"values": {"interval": {"daily": "P1D"}}}),
            "/values/interval/daily",
            "no such field here",
        ),
    ],
)
def test_what_is_no_event_is_refused_with_its_place(raw: bytes, pointer: str, detail: str) -> None:
    """A JSON pointer (RFC 6901) and a sentence."""
    where, what = refused(raw)
    assert where == pointer
    assert what.startswith(detail)


@pytest.mark.parametrize(
    "raw",
    [
        b'{"a":' * 800_000,
        b"[" * 4_000_000,
        b'{"x":' + b"[" * 2_000_000 + b"]" * 2_000_000 + b',"kind":"checked"}',
        b'{"kind":"checked","points":' + b'{"a":' * 700_000,
        b'{"kind":"checked","points":{"a":' + b"[" * 2_000_000,
        b'{"kind":"policy-set","values":{"interval":' + b'{"routine":' * 300_000,
        checked()[:-1] + b',"x":' + b"[" * 2_000_000 + b"]" * 2_000_000 + b"}",
        b'{"kind":"checked","points":{"a":1},"x":' + b"[" * 2_000_000 + b"]" * 2_000_000 + b"}",
    ],
)
def test_nesting_as_deep_as_a_body_can_hold_is_malformed(raw: bytes) -> None:
    """4 MB of brackets: an answer, neither a RecursionError nor a crash."""
    with pytest.raises(Malformed) as refused:
        codec.decode(raw)
    assert (refused.value.pointer, refused.value.detail) == ("", "nested deeper than any event")


@pytest.mark.parametrize(
    ("raw", "pointer"),
    [
        (checked(**{"k" * 1_000_000: 1}), ""),
        (b'{"kind":"' + b"k" * 1_000_000 + b'"}', "/kind"),
        (checked(points={"k" * 1_000_000: "pass"}), "/points"),
        (checked(points={"a": "v" * 1_000_000}), "/points/a"),
        (checked(**{"x` - at `$.points[...]": 1}), "/x` - at `$.points[...]"),
        (checked(**{"x` - at `$.nowhere[...]": 1}), "/x` - at `$.nowhere[...]"),
        (checked(**{"x` - at `$.points[...].a[7]": 1}), "/x` - at `$.points[...].a[7]"),
    ],
)
def test_a_sender_s_own_text_is_said_back_only_in_part(raw: bytes, pointer: str) -> None:
    """However long a name or value is, the answer is short; who mimics the decoder's words misleads no one else."""
    where, what = refused(raw)
    assert where == pointer
    assert len(what) <= 300


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        (b',"asset":"FX-0199"', "/asset"),
        (b',"asset":"FX-0142"', "/asset"),
        (b',"kind":"failed-check"', "/kind"),
        (b',"k\\u0069nd":"failed-check"', "/kind"),
        (b',"action":"a \\"by\\": b", "by" : "p-1"', "/by"),
        (b',"new":{"airflow":"fail","airflow":"pass"}', "/new/airflow"),
        (b',"new":[{},{"a/b~":1,"point":1,"point":2}]', "/new/1/point"),
        (b',"a/b~":{"by":1,"by":2}', "/a~1b~0/by"),
    ],
)
def test_a_member_that_stands_twice_is_refused_by_its_name(more: bytes, pointer: str) -> None:
    """Which of the two counts would be the reader's guess (RFC 8259 section 4), even where both say the same."""
    detail = "stands twice in its object: send it once, so that nobody can read it two ways"
    assert refused(checked()[:-1] + more + b"}") == (pointer, detail)


def test_a_name_may_stand_in_several_objects_and_in_texts() -> None:
    """Only the members of one object must differ."""
    event = codec.decode(checked(remark='"asset": "FX-0199", "asset": "FX-0143"'))
    assert isinstance(event, Checked)
    assert (event.asset, event.remark) == ("FX-0142", '"asset": "FX-0199", "asset": "FX-0143"')
    assert codec.decode(msgspec.json.encode(BY_NAME["model-defined"].example)).kind == "model-defined"


def test_equal_content_is_equal_bytes_whatever_the_order_spacing_and_form_of_numbers() -> None:
    """Fields in the kind's order, objects by key, 84 and 8.4e1 alike, null as left out, Z as +00:00."""
    raw = (
        b' {"points" : {"battery":"pass","airflow":"pass"}, "battery_percent":8.4e1, "airflow_lpm":186,"wearer":null,\n'
        b'"by":"p-3071","asset":"FX-0142","occurred_at":"2026-03-02t05:51:40.000z",'
        b'"id":"0198C1F2-7A10-7C3E-9B55-3F1D2AB40C01","kind":"checked"} '
    )
    assert codec.encode(codec.decode(raw)) == (
        b'{"kind":"checked","id":"0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01","occurred_at":"2026-03-02T05:51:40Z",'
        b'"by":"p-3071","asset":"FX-0142","points":{"airflow":"pass","battery":"pass"},"airflow_lpm":186.0,'
        b'"battery_percent":84.0}'
    )


def test_the_sender_s_offset_is_kept() -> None:
    """The instant alone would not say what the clock on the wall showed."""
    event = codec.decode(checked(occurred_at="2026-03-02T07:51:40.123456+02:00"))
    assert event.occurred_at is not None
    assert event.occurred_at.isoformat() == "2026-03-02T07:51:40.123456+02:00"
    assert b'"occurred_at":"2026-03-02T07:51:40.123456+02:00"' in codec.encode(event)


def test_a_raw_message_of_a_batch_is_read_without_a_copy() -> None:
    """The parts of a list decoded as `msgspec.Raw`."""
    parts = msgspec.json.decode(b"[" + checked() + b",17]", type=list[msgspec.Raw])
    assert codec.decode(parts[0]).kind == "checked"
    with pytest.raises(Malformed):
        codec.decode(parts[1])


def test_sealing_takes_every_text_out_and_leaves_its_keyed_hash() -> None:
    """HMAC-SHA-256 (RFC 2104) as base64url without padding (RFC 4648 section 5), reckoned here by hand."""
    key = b"k" * 32
    defects = [{"point": "a", "found": "crack"}, {"point": "b", "found": "dirt", "remedy": "washed"}]
    event = codec.decode(msgspec.json.encode(BY_NAME["examined"].example | {"defects": defects}))
    sealed, texts = codec.seal(event, key)
    assert texts == {
        "remark": "entered at the gate",
        "defects[0].found": "crack",
        "defects[1].found": "dirt",
        "defects[1].remedy": "washed",
    }
    digest = base64.urlsafe_b64encode(hmac.new(key, b"crack", hashlib.sha256).digest()).decode().rstrip("=")
    assert isinstance(sealed, Examined)
    assert sealed.defects[0].found == f"hmac-sha256:{digest}"
    assert sealed.defects[0].remedy is None
    assert sealed.defects[1].remedy is not None
    assert sealed.defects[1].remedy.startswith("hmac-sha256:")


def test_sealing_drops_the_clock_of_the_message() -> None:
    """`sent_at` belongs to the message, not the event (R8)."""
    event = codec.decode(checked())
    assert event.sent_at is not None
    assert codec.seal(event, b"k")[0].sent_at is None


def test_an_event_without_text_is_sealed_as_it_is() -> None:
    """Nothing is taken out where nothing stands."""
    event = codec.decode(checked(remark=None, action=None, sent_at=None))
    assert codec.seal(event, b"k") == (event, {})


def test_an_empty_text_is_sealed_too() -> None:
    """Else an empty one could be told from an erased one."""
    sealed, texts = codec.seal(codec.decode(checked(remark="", action=None)), b"k")
    assert texts == {"remark": ""}
    assert sealed.remark is not None
    assert sealed.remark.startswith("hmac-sha256:")


def test_the_same_key_seals_alike_and_another_key_otherwise() -> None:
    """A repeat is compared under the key of the first."""
    event = codec.decode(checked())
    assert codec.encode(codec.seal(event, b"a")[0]) == codec.encode(codec.seal(event, b"a")[0])
    assert codec.encode(codec.seal(event, b"a")[0]) != codec.encode(codec.seal(event, b"b")[0])


def test_texts_that_are_kept_can_be_put_back_and_erased_ones_stay_sealed() -> None:
    """The event as it was sent, but for its message's clock."""
    event = codec.decode(msgspec.json.encode(BY_NAME["examined"].example))
    sealed, texts = codec.seal(event, b"k")
    assert codec.reveal(sealed, texts) == msgspec.structs.replace(event, sent_at=None)
    assert codec.reveal(sealed, {}) == sealed
    assert codec.reveal(sealed, {"remark": "entered at the gate"}).remark == "entered at the gate"


def test_a_policy_s_text_deep_inside_is_sealed() -> None:
    """A path through a struct that may be left out."""
    values = {"confined_proven": {"person": "p-1002", "reason": "oxygen is metered"}}
    message = BY_NAME["policy-set"].example | {"policy": "protection", "values": values}
    _, texts = codec.seal(codec.decode(msgspec.json.encode(message)), b"k")
    assert texts["values.confined_proven.reason"] == "oxygen is metered"


def test_a_stored_body_is_read_as_its_kind() -> None:
    """And only as that: a body under another kind's name was tampered with."""
    body = codec.encode(codec.decode(checked()))
    assert codec.decode_stored(body, "checked", 1) == codec.decode(checked())
    with pytest.raises(Malformed):
        codec.decode_stored(body, "failed-check", 1)


def test_an_older_body_is_brought_to_the_current_version_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each upcaster turns one version into the next."""
    monkeypatch.setattr(BY_NAME["moved"], "version", 3)
    monkeypatch.setitem(codec.UPCASTERS, ("moved", 1), lambda body: body | {"destination": body["to"]})
    monkeypatch.setitem(
        codec.UPCASTERS,
        ("moved", 2),
        lambda body: (
            {name: value for name, value in body.items() if name not in ("to", "destination")}
            | {"to_site": body["destination"]}
        ),
    )
    old = (
        b'{"kind":"moved","id":"0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01","occurred_at":"2026-03-02T05:51:40Z",'
        b'"by":"p-1","asset":"FX-1","to":"tern-yard"}'
    )
    event = codec.decode_stored(old, "moved", 1)
    assert msgspec.structs.asdict(event) == {
        "id": UUID("0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"),
        "occurred_at": event.occurred_at,
        "occurred_on": None,
        "by": "p-1",
        "site": None,
        "device": None,
        "device_seq": None,
        "sent_at": None,
        "remark": None,
        "asset": "FX-1",
        "to_site": "tern-yard",
    }


def test_no_upcaster_stands_where_every_kind_is_at_its_first_version() -> None:
    """One for every version behind the current one, and no other."""
    behind = {(kind, version) for kind in BY_NAME for version in range(1, BY_NAME[kind].version)}
    assert set(codec.UPCASTERS) == behind


def test_a_blank_event_says_all_but_its_texts() -> None:
    """Two that differ in free text alone are blank alike."""
    one, other = (codec.decode(checked(remark=text, action=text)) for text in ("tube tightened", "none"))
    assert codec.blank(one) == codec.blank(other) == codec.decode(checked(remark="erased", action="erased"))
    assert codec.blank(one) != codec.blank(codec.decode(checked(remark="x", action="x", battery_percent=1)))


def test_what_is_no_json_text_is_told_where_it_ends_to_be_one() -> None:
    """In our own words: the byte near which it fails, and what to send."""
    with pytest.raises(NotJson) as refused:
        codec.decode(b"nonsense")
    assert (
        refused.value.detail == "This stops being JSON near byte 4: send one JSON text in UTF-8, as RFC 8259 writes it."
    )


@pytest.mark.parametrize("raw", [b'{"id":', b'{"id":"0198c1f2', b'{"remark":"\\ud800"}', b'{"remark":"\\ud83d?"}'])
def test_a_text_that_is_cut_short_is_told_to_be(raw: bytes) -> None:
    """The end missing from the whole, or the low half of a character that its high one announced by an escape."""
    with pytest.raises(NotJson) as refused:
        codec.decode(raw)
    assert refused.value.detail == (
        "The JSON ends before it is complete, or a \\u escape stands for half a character: send it whole."
    )


@pytest.mark.parametrize("label", ["\u200b", "\\u200b", " \ufeff\u00ad", "\U000e0041"])
def test_a_label_that_nobody_sees_is_refused_and_what_the_log_holds_stays_legible(label: str) -> None:
    """However it is escaped, in a list too; each has its place."""
    written = msgspec.json.encode(
        BY_NAME["recall-opened"].example
        | {"criteria": [{"item": "pf-170", "lots": ["L-1", "here"]}, {"lot": "here"}, {"lot": "\u200bL-1"}]}
    )
    raw = written.replace(b'"here"', f'"{label}"'.encode())
    with pytest.raises(Malformed) as error:
        codec.decode(raw)
    assert [fault.pointer for fault in error.value.faults] == ["/criteria/0/lots/1", "/criteria/1/lot"]
    body = msgspec.json.encode({name: told for name, told in msgspec.json.decode(raw).items() if name != "kind"})
    stored = codec.decode_stored(body, "recall-opened", 1)
    assert msgspec.json.decode(codec.encode(stored))["criteria"] == msgspec.json.decode(raw)["criteria"]
