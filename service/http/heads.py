"""The headers that routes read, as the description of the interface tells them."""

from typing import Any


def head(name: str, description: str, example: str) -> dict[str, Any]:
    """Describe one header of a request."""
    text = {"type": "string", "maxLength": 1000, "examples": [example]}
    return {"name": name, "in": "header", "required": False, "description": description, "schema": text}


DATE = head("Date", "The sender's clock when it sent the message.", "Sun, 06 Nov 1994 08:49:37 GMT")
PREFER = head("Prefer", "`import`: an administrator brings in records of the past.", "import")
IF_MATCH = head("If-Match", "A change: the ETag of the version that it starts from; `*`, there must be one.", '"48211"')
IF_NONE_MATCH = head("If-None-Match", "A read: the ETag of the version that is known already.", '"48211"')
ONLY_NEW = head("If-None-Match", "A change: `*`, there must be no version yet.", "*")
