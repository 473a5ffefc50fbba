"""Problems: what is wrong, in a form that can be kept, compared and answered."""

import msgspec


class Fault(msgspec.Struct, frozen=True, omit_defaults=True):
    """One thing that is wrong, and where.

    `pointer` is a JSON pointer into the message (RFC 6901: "/points/airflow", "" for the whole), `parameter` the name
    of a query parameter or header, `at` a place in a document that is no JSON: an XPath, or a row and a column.
    """

    detail: str
    pointer: str | None = None
    parameter: str | None = None
    at: str | None = None

    @property
    def place(self) -> str:
        """Name the field, parameter, header or place; nothing where the whole is at fault."""
        return self.pointer or self.parameter or self.at or ""


class Problem(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """An error in a form that can be kept and answered: HTTP adds status, type and title by `code` (RFC 9457).

    `members` is what a program can act on, beside the sentence.
    """

    code: str
    detail: str
    errors: tuple[Fault, ...] = ()
    members: dict[str, str | int | bool | tuple[str, ...] | None] = {}
