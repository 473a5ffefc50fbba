"""Every door as the OpenAPI document lists it, and beside each what it answers to whom: the one table of expectations.

Statuses are those of design 5 and rulings R37 and R38, written down by hand; nothing here is told by the service. A
door that the document lists and the table does not, or the other way round, fails a test.
"""

import json
from pathlib import Path
from typing import Any, NamedTuple

from typing_extensions import override

from service.domain.caller import Role
from tests.separation.world import ROLES

FILE = Path(__file__).parents[2] / "openapi" / "openapi.json"


class Door(NamedTuple):
    """An operation, and the names of its query parameters; `is_open` where the document asks for no key."""

    method: str
    path: str
    parameters: tuple[str, ...]
    is_open: bool

    @override
    def __str__(self) -> str:
        """Write it as the table does."""
        return f"{self.method} {self.path}"


class Expected(NamedTuple):
    """What a door answers: to each role about its own, and about what is another site's, or nowhere in the firm."""

    roles: dict[Role, int]
    elsewhere: int | None
    nowhere: int | None


#: The roles in their order: site-app, site-lead, manager, integrator, auditor, worker-representative, administrator.
#: "anyone" is answered without a key, since the door tells of no firm.
#: `elsewhere` is told to a role that the door answers whose key is bound to another site of the firm, `nowhere` about
#: what the firm has not, be it another firm's; "-" where the address names nothing.
TABLE = """
                                            app lead man int aud rep adm   elsewhere nowhere
GET  /health/live                           anyone
GET  /health/ready                          anyone
GET  /problems                              anyone
GET  /problems/{code}                       anyone
GET  /v1/events                             200 200 200 200 200 403 200   -   -
GET  /v1/events/stream                      200 200 200 200 200 403 200   -   -
POST /v1/events                             201 201 201 201 403 403 201   403 422
GET  /v1/events/{event_id}                  200 200 200 200 200 403 200   404 404
GET  /v1/devices                            200 200 200 200 200 403 200   -   -
GET  /v1/assets                             200 200 200 403 200 200 200   -   -
GET  /v1/assets/{tag}                       200 200 200 403 200 200 200   404 404
GET  /v1/assets/{tag}/history               200 200 200 403 200 200 200   404 404
GET  /v1/assets/{tag}/label                 200 200 200 403 200 200 200   404 404
GET  /v1/assets/{tag}/standing              200 200 200 403 200 200 200   404 404
POST /v1/scans/interpretation               200 200 200 403 200 200 200   -   -
GET  /v1/labels                             200 200 200 403 200 200 200   -   -
GET  /v1/compliance                         403 200 200 403 200 200 200   -   -
GET  /v1/compliance/assets                  403 200 200 403 200 200 200   -   -
GET  /v1/exceptions                         403 200 200 403 200 403 200   -   -
GET  /v1/exceptions/{report}                403 200 200 403 200 403 200   -   404
POST /v1/recalls/{ref}/quarantine           403 200 200 403 403 403 200   -   404
GET  /v1/recalls                            403 200 200 403 200 200 200   -   -
GET  /v1/recalls/{ref}/impact               403 200 200 403 200 200 200   -   404
GET  /v1/recalls/{ref}/notice               403 200 200 403 200 200 200   -   404
GET  /v1/recalls/{ref}/sites                403 200 200 403 200 200 200   -   404
GET  /v1/recalls/{ref}/people               403 200 200 403 200 403 200   -   404
GET  /v1/recalls/{ref}/stock                403 200 200 403 200 200 200   -   404
GET  /v1/recalls/{ref}/history              403 200 200 403 200 200 200   -   404
POST /v1/recalls/preview                    403 200 200 403 200 200 200   -   -
GET  /v1/stock                              403 200 200 200 200 200 200   -   -
GET  /v1/stock/ledger                       403 200 200 200 200 200 200   -   -
GET  /v1/consumption                        403 200 200 200 200 200 200   -   -
GET  /v1/reorders                           403 200 200 200 200 403 200   -   -
GET  /v1/reorders/{ref}                     403 200 200 200 200 403 200   404 404
POST /v1/reorders/{ref}/approval            403 403 200 403 403 403 200   404 404
POST /v1/reorders/{ref}/placement           403 403 200 200 403 403 200   404 404
POST /v1/reorders/{ref}/cancellation        403 403 200 200 403 403 200   404 404
GET  /v1/reorders/{ref}/receipt             403 200 200 200 200 403 200   404 404
POST /v1/order-documents                    403 403 207 207 403 403 207   403 422
GET  /v1/rejected                           403 200 200 403 200 403 200   -   -
GET  /v1/rejected/{rejected_id}             403 200 200 403 200 403 200   404 404
POST /v1/rejected/{rejected_id}/retry       403 422 422 403 403 403 422   404 404
POST /v1/rejected/{rejected_id}/dismissal   403 200 200 403 403 403 200   404 404
POST /v1/webhooks                           403 403 403 201 403 403 201   -   -
GET  /v1/webhooks                           403 403 403 200 403 403 200   -   -
GET  /v1/webhooks/{webhook_id}              403 403 403 200 403 403 200   404 404
PUT  /v1/webhooks/{webhook_id}              403 403 403 200 403 403 200   404 404
DELETE /v1/webhooks/{webhook_id}            403 403 403 204 403 403 204   404 404
POST /v1/webhooks/{webhook_id}/secret       403 403 403 200 403 403 200   404 404
POST /v1/webhooks/{webhook_id}/test         403 403 403 200 403 403 200   404 404
GET  /v1/webhooks/{webhook_id}/deliveries   403 403 403 200 403 403 200   404 404
GET  /v1/webhooks/{webhook_id}/dead-letters 403 403 403 200 403 403 200   404 404
POST /v1/webhooks/{webhook_id}/dead-letters/{seq}/replay 403 403 403 200 403 403 200   404 404
GET  /v1/sites                              200 200 200 200 200 200 200   -   -
GET  /v1/sites/{ref}                        200 200 200 200 200 200 200   404 404
PUT  /v1/sites/{ref}                        403 403 403 403 403 403 200   403 412
GET  /v1/models                             200 200 200 200 200 200 200   -   -
GET  /v1/models/{ref}                       200 200 200 200 200 200 200   -   404
PUT  /v1/models/{ref}                       403 403 403 403 403 403 200   403 412
GET  /v1/items                              200 200 200 200 200 200 200   -   -
GET  /v1/items/{ref}                        200 200 200 200 200 200 200   -   404
PUT  /v1/items/{ref}                        403 403 403 403 403 403 200   403 412
GET  /v1/tasks                              200 200 200 200 200 200 200   -   -
GET  /v1/tasks/{ref}                        200 200 200 200 200 200 200   -   404
PUT  /v1/tasks/{ref}                        403 403 403 403 403 403 200   403 412
GET  /v1/policies                           200 200 200 200 200 200 200   -   -
GET  /v1/policies/{ref}                     200 200 200 200 200 200 200   404 404
PUT  /v1/policies/{ref}                     403 403 403 403 403 403 200   403 412
GET  /v1/instruments                        200 200 200 200 200 200 200   -   -
GET  /v1/instruments/{ref}                  200 200 200 200 200 200 200   -   404
PUT  /v1/instruments/{ref}                  403 403 403 403 403 403 200   403 412
"""


def described() -> dict[str, Door]:
    """Read the doors out of the document."""
    paths: dict[str, dict[str, Any]] = json.loads(FILE.read_bytes())["paths"]
    doors = [door(method.upper(), path, told) for path, methods in paths.items() for method, told in methods.items()]
    return {str(one): one for one in doors}


def door(method: str, path: str, told: dict[str, Any]) -> Door:
    """Read one operation."""
    named = tuple(one["name"] for one in told.get("parameters", ()) if one["in"] == "query")
    return Door(method, path, named, not told["security"])


def table() -> dict[str, Expected]:
    """Read the rows of doors that ask for a key."""
    return {
        f"{method} {path}": Expected(
            dict(zip(ROLES, map(int, statuses[:-2]), strict=True)),
            *(None if word == "-" else int(word) for word in statuses[-2:]),
        )
        for method, path, *statuses in ROWS
        if statuses != ["anyone"]
    }


ROWS = [line.split() for line in TABLE.strip().splitlines()[1:]]
NAMES = {f"{method} {path}" for method, path, *_ in ROWS}
EXPECTED = table()
EVERY = described()
DOORS = {name: one for name, one in EVERY.items() if not one.is_open}
"""The doors that ask for a key."""
