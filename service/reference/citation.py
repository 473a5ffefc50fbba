"""Where a value comes from, and how far that was read.

What may live here: the shape of a citation and the closed list of statuses. Clauses stand beside the rows they carry.
"""

from typing import Literal, NamedTuple

Status = Literal[
    "read",
    "second-hand",
    "memory-high",
    "memory-medium",
    "memory-low",
    "derived",
    "common-practice",
    "own",
    "policy",
    "unknown",
]

STATUSES: dict[Status, str] = {
    "read": "read in the text of the law, standard or guidance itself, or in a verbatim copy of the clause",
    "second-hand": "read in a document that restates it",
    "memory-high": "from memory, high confidence; the current text wins",
    "memory-medium": "from memory, medium confidence; the current text wins",
    "memory-low": "from memory, low confidence; the current text wins",
    "derived": "arithmetic from sourced values",
    "common-practice": "a fact of the trade with no source",
    "own": "a choice of this service, not a law",
    "policy": "set by the firm's own policy where the profile sets no duty",
    "unknown": "nothing on record: ask the law of the place and a competent person",
}


class Citation(NamedTuple):
    """A clause, the edition it was taken from, and a status of the list above."""

    clause: str
    edition: str
    status: Status


OWN = Citation("this service's own choice", "version 1", "own")
UNKNOWN = Citation("no clause on record", "none", "unknown")


class Row(NamedTuple):
    """One thing a profile needs to know, said in a phrase, and where it stands."""

    profile: str
    what: str
    citation: Citation
