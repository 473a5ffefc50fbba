"""Mistakes made on purpose, as a stranger makes them: each answer says what to send instead."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import httpx

NOW = datetime.now(UTC)
CHECK: dict[str, Any] = {
    "kind": "checked",
    "asset": "NEW-1",
    "occurred_at": NOW.isoformat(),
    "by": "p-1120",
    "points": {"airflow": "pass"},
}
JSON = "application/json"

#: What is posted, in which form, and then: the status, the kind of problem, and words that its answer must have.
MISTAKES: tuple[tuple[Any, str, int, str, tuple[str, ...]], ...] = (
    ("kind=checked", JSON, 400, "not-json", ()),
    (CHECK, "text/plain", 415, "unsupported-media", ("Content-Type: application/json",)),
    (CHECK | {"occured_at": NOW.isoformat()}, JSON, 422, "malformed", ("is 'occurred_at' meant?", "#/occured_at")),
    (CHECK | {"kind": "check"}, JSON, 422, "malformed", ("#/kind", "openapi.json")),
    (CHECK | {"points": {"airflow": "ok"}}, JSON, 422, "malformed", ("pass, fail, not-applicable", "#/points/airflow")),
    (CHECK | {"occurred_at": "2026-03-02T05:51:40"}, JSON, 422, "malformed", ("2026-03-02T05:51:40+00:00",)),
    (CHECK | {"battery_percent": 840}, JSON, 422, "malformed", ("at most 100", "#/battery_percent")),
    (CHECK | {"id": "check-1"}, JSON, 422, "malformed", ("must be a UUID such as",)),
    (
        CHECK | {"occurred_at": (NOW + timedelta(days=1)).isoformat()},
        JSON, 422, "in-the-future", ("set the clock of the device, or wait",),
    ),
    (CHECK | {"asset": "NEW-404"}, JSON, 422, "unknown-reference", ("asset:NEW-404", "#/asset", "The message waits")),
    (CHECK | {"site": "cedar-flats"}, JSON, 403, "site-not-allowed", ("'cedar-flats'", "#/site")),
    (
        {name: CHECK[name] for name in ("asset", "occurred_at", "by")} | {"kind": "released"},
        JSON, 403, "kind-not-allowed", ("Roles that may: site-lead, manager, administrator.",),
    ),
)  # fmt: skip


def test_refused_message_teaches_what_to_send(shell: dict[str, str]) -> None:
    """Each mistake is answered with its kind of problem, where it is, and what would be right; none ends in a 500."""
    base, key = shell["BASE"], shell["SITE_APP"]
    found = []
    for message, form, status, code, words in MISTAKES:
        body = message if isinstance(message, str) else json.dumps({"id": str(uuid4())} | message)
        headers = {"Authorization": f"Bearer {key}", "Content-Type": form}
        answer = httpx.post(f"{base}/v1/events", content=body, headers=headers)
        told = answer.json()
        if (answer.status_code, told["type"]) != (status, f"/problems/{code}"):
            found.append(answer.text)
        found += [f"{word!r} is missing in {answer.text}" for word in words if word not in answer.text]
        assert httpx.get(f"{base}{told['type']}").status_code == 200
    assert found == []
