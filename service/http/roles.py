"""Which roles a route answers. What a role may post, and whose objects it sees, is decided further in."""

from typing import get_args

from service.domain.caller import Role

#: Answers without a key; only what tells nothing of any organisation.
ANYONE: frozenset[Role] | None = None
EVERY_ROLE: frozenset[Role] = frozenset(get_args(Role))

#: R37: who may post anything at all.
POSTING: frozenset[Role] = EVERY_ROLE - {"auditor", "worker-representative"}
#: Events name persons, so they are not for the worker representative.
EVENTS: frozenset[Role] = EVERY_ROLE - {"worker-representative"}
#: A device may be somebody's phone.
DEVICES: frozenset[Role] = EVENTS
ASSETS: frozenset[Role] = EVERY_ROLE - {"integrator"}
#: Whoever reads units may ask which one was scanned, and have its label.
SCANS: frozenset[Role] = ASSETS
LABELS: frozenset[Role] = ASSETS
SUMMARY: frozenset[Role] = ASSETS - {"site-app"}
#: Exceptions name persons, and who answers for them.
EXCEPTIONS: frozenset[Role] = SUMMARY - {"worker-representative"}
#: Whoever reads the summary; a worker representative without names.
RECALLS: frozenset[Role] = SUMMARY
#: Who had or wore units is told to those who may know names.
EXPOSED: frozenset[Role] = RECALLS - {"worker-representative"}
#: Stock and what is used of it name nobody.
STOCK: frozenset[Role] = SUMMARY | {"integrator"}
#: What is ordered is no business of a device, nor of who reads without names.
REORDERS: frozenset[Role] = frozenset({"site-lead", "manager", "integrator", "auditor", "administrator"})
APPROVING: frozenset[Role] = frozenset({"manager", "administrator"})
#: R37: who posts orders.
ORDERING: frozenset[Role] = APPROVING | {"integrator"}
REJECTED: frozenset[Role] = frozenset({"site-lead", "manager", "auditor", "administrator"})
SETTLING: frozenset[Role] = REJECTED - {"auditor"}
#: What is sent out is the business of who connects the firm's other systems.
WEBHOOKS: frozenset[Role] = frozenset({"integrator", "administrator"})
REFERENCE: frozenset[Role] = EVERY_ROLE
#: R37: whoever leads a site may stop its units.
STOPPING: frozenset[Role] = SETTLING
#: R37: reference data is the administrator's.
DEFINING: frozenset[Role] = frozenset({"administrator"})
