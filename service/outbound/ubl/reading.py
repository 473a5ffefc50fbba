"""A document that came as UBL 2.1, as other systems write it.

Elements that nothing here is made of are passed over, as UBL means it: every sender uses others of its two thousand,
and none could be read otherwise. They are told, so that a sender sees what was not looked at. What would change the
goods, how many there are or whether any are meant is refused (`meaning.py`), and so is what stands twice where UBL has
it once, or in another namespace. The order of elements, prefixes and versions 2.0 to 2.4 do not matter.
"""

from collections.abc import Callable
from itertools import islice
from typing import Any, Final, Generic, TypeVar

import msgspec

from service.domain import faults
from service.domain.errors import BadDocument
from service.domain.unsaid import unsaid
from service.outbound.ubl.documents import Document
from service.outbound.ubl.meaning import MEANING, guard_of
from service.outbound.ubl.node import Node
from service.outbound.ubl.parsing import parsed, texts
from service.outbound.ubl.plain_text import meant, sentence
from service.outbound.ubl.table import NAMES, TABLE, URN, Branch, Leaf, Rows, path_of

MOST_PASSED: Final = 100
"""How many of the places that were passed over are told."""
SEEN: Final = frozenset({"cbc:UBLVersionID"})
"""Elements that are looked at, though no field is made of them, and nothing depends on what they say."""
KNOWN: Final = NAMES | {way.rpartition("/")[2] for way in MEANING}
"""The names of all elements that are looked at for what they say."""
LOCAL: Final = {name.partition(":")[2]: name for name in sorted(KNOWN)}
"""The same by their names without prefixes."""
BLANK: Final = " \t\r\n"

D = TypeVar("D", bound=Document)


class Reading(msgspec.Struct, Generic[D], frozen=True):
    """A document, the XPaths of what in it was passed over, a hundred at most, and how many more there are.

    `place` says where a field stood, by its JSON pointer: an XPath, or a row and a column of a table.
    """

    document: D
    place: Callable[[str], str]
    passed_over: tuple[str, ...] = ()
    more: int = 0

    def refused(self, error: BadDocument) -> BadDocument:
        """Give an error about the document with the places where it was read."""
        return BadDocument.of((self.place(fault.pointer or ""), fault.detail) for fault in error.faults)


def read(body: bytes, wanted: type[D]) -> Reading[D]:
    """Read a document of a sort. TooLarge, or BadDocument with all that is wrong with it."""
    return read_root(parsed(body), wanted)


def is_root(root: Node, wanted: type[msgspec.Struct]) -> bool:
    """Say whether an element is the root of a document of a sort."""
    return root.name == f"{{{URN}{wanted.__name__}-2}}{wanted.__name__}"


def read_root(root: Node, wanted: type[D]) -> Reading[D]:
    """Read a document of a sort from its root. BadDocument with all that is wrong with it."""
    kind = wanted.__name__
    if not is_root(root, wanted):
        raise BadDocument.of([("", f"The document is no {kind} of UBL 2.1: its root must be {kind} in {URN}{kind}-2")])
    root.name = kind
    gathered = _Gathered()
    said = gathered.fields(root, TABLE[wanted], "")
    gathered.look_for_what_matters(root)
    document = checked(said, wanted, gathered.wrong)
    if gathered.wrong or document is None:
        raise BadDocument.of(gathered.told())
    passed = list(root.unused())
    places = tuple(node.place() for node in passed[:MOST_PASSED])
    return Reading(document, gathered.place, places, max(0, len(passed) - MOST_PASSED))


def checked(said: dict[str, Any], wanted: type[D], wrong: dict[str, str]) -> D | None:
    """Make the document of what was read, or add to what is wrong with it, by JSON pointer."""
    try:
        document = msgspec.convert(said, wanted)
    except msgspec.ValidationError as error:
        for pointer, told in faults.faults(error, said, wanted):
            wrong.setdefault(pointer, told)
        return None
    for pointer, told in unsaid(document):
        wrong.setdefault(pointer, told)
    return document


class _Gathered:
    """What was read, where it stood, and what was wrong with it; `wrong` and places by JSON pointer."""

    def __init__(self) -> None:
        self.wrong: dict[str, str] = {}
        self._read: dict[str, tuple[Node, str]] = {}
        self._missing: dict[str, tuple[Node, Rows]] = {}

    def fields(self, node: Node, rows: Rows, pointer: str) -> dict[str, Any]:
        """Read the fields of an element."""
        self._missing[pointer] = (node, rows)
        found: dict[str, Any] = {}
        for row in rows:
            at = f"{pointer}/{row.field}"
            told = self._branch(node, row, at) if isinstance(row, Branch) else self._leaf(node, row, at)
            if told is not None:
                found[row.field] = told
        return found

    def _branch(self, node: Node, row: Branch, pointer: str) -> Any:  # noqa: ANN401 -- fields, or a list of them
        ways = [(path, found) for path in row.ways if (found := node.find(path_of(path)))]
        path, found = next((way for way in ways if any(one.says() for one in way[1])), ways[0] if ways else ("", []))
        for one in found:
            one.use()
        if row.many:
            return [self.fields(one, row.rows, f"{pointer}/{number}") for number, one in enumerate(found)] or None
        self._only_one(node, path, pointer)
        return self.fields(found[0], row.rows, pointer) if found else None

    def _leaf(self, node: Node, row: Leaf, pointer: str) -> Any:  # noqa: ANN401 -- a text, or a list of them
        for path in row.ways:
            *_, last = path.split("/")
            found = [one for one in node.find(path_of(path)) if not row.scheme or _scheme(one) in row.scheme]
            if last.startswith("@"):
                return self._attribute(found, last[1:], pointer)
            said = [one for one in found if one.text]
            if said:
                text = self._said(said, row, pointer)
                self._only_one(node, path, pointer)
                return text
        return None

    def _attribute(self, found: list[Node], name: str, pointer: str) -> str | None:
        if not found or name not in found[0].attributes:
            return None
        self._read[pointer] = found[0], f"/@{name}"
        return found[0].attributes[name].strip(BLANK)

    def _said(self, found: list[Node], row: Leaf, pointer: str) -> Any:  # noqa: ANN401 -- a text, or a list of them
        self._read[pointer] = found[0], ""
        for one in found[:1] if row.times == "first" else found:
            one.use()
        if row.times == "listed":
            self._read.update((f"{pointer}/{number}", (one, "")) for number, one in enumerate(found))
            return texts(found)
        text = meant("\n".join(texts(found)) if row.times == "joined" else found[0].text, row.form)
        if text is None:
            self.wrong[pointer] = sentence(row.form)
        return text

    def _only_one(self, node: Node, path: str, pointer: str) -> None:
        second = node.second(path_of(path)) if path else None
        if second is not None:
            self._read[pointer] = second, ""
            self.wrong[pointer] = "stands a second time: send one, or divide the line"

    def _stray(self, node: Node, told: str) -> None:
        pointer = f"/{len(self._read)}/stray"
        self._read[pointer], self.wrong[pointer] = (node, ""), told

    def look_for_what_matters(self, root: Node) -> None:
        """Refuse what must not be passed over."""
        for node in root.all():
            if node.used and node.children and node.text:
                self._stray(node, "has text beside its elements: send the one or the other")
            if node.parent is None or not node.parent.used or len(self.wrong) > faults.MOST:
                continue
            guard = None if node.used else guard_of(node)
            if guard is not None and guard.allows(node):
                node.use()
            elif guard is not None:
                self._stray(node, guard.told)
            if node.name not in KNOWN and _local(node.name) in LOCAL:
                self._stray(node, f"must be {LOCAL[_local(node.name)]}, in its namespace of UBL")
            if node.parent is root and node.name in SEEN:
                node.use()

    def told(self) -> list[tuple[str, str]]:
        """List what is wrong by place; each place is looked for only here, since that takes a while."""
        return [(self.place(pointer), sentence) for pointer, sentence in islice(self.wrong.items(), faults.MOST)]

    def place(self, pointer: str) -> str:
        """Give the XPath of a fault, also of what is missing."""
        if pointer in self._read:
            node, rest = self._read[pointer]
            return f"{node.place()}{rest}"
        if pointer in self._missing:
            return self._missing[pointer][0].place()
        above, _, name = pointer.rpartition("/")
        if above in self._missing:
            node, rows = self._missing[above]
            path = next((row.path for row in rows if row.field == name), "")
            return f"{node.place()}/{path}".replace("*", "").removesuffix("/.").removesuffix("/")
        return self.place(above) if pointer else ""


def _scheme(node: Node) -> str:
    return node.attributes.get("schemeID", "")


def _local(name: str) -> str:
    return name.rpartition("}")[2].rpartition(":")[2]
