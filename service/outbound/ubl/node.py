"""An element as it was read, and what of it was made use of."""

from collections.abc import Iterator
from typing import Final

from service.outbound.ubl.table import NAMESPACES

PREFIXES: Final = {uri: prefix for prefix, uri in NAMESPACES.items()}


class Node:
    """An element: `name` with the usual prefix of its namespace, whatever the document's own is."""

    __slots__ = ("attributes", "children", "depth", "name", "parent", "text", "used")

    def __init__(self, name: str, parent: "Node | None", attributes: dict[str, str]) -> None:
        self.name = name
        self.parent = parent
        self.attributes = attributes
        self.depth: int = 1 if parent is None else parent.depth + 1
        self.children: list[Node] = []
        self.text = ""
        self.used = False

    def find(self, steps: list[str]) -> list["Node"]:
        """List the elements at the end of a way, in the order of the document."""
        if not steps:
            return [self]
        name = steps[0].rstrip("*")
        return [found for child in self.children if child.name == name for found in child.find(steps[1:])]

    def second(self, steps: list[str]) -> "Node | None":
        """Give what stands beside another of its name on a way that has one of them there; None if nothing does."""
        if not steps:
            return None
        name = steps[0].rstrip("*")
        found = [child for child in self.children if child.name == name]
        if len(found) > 1 and steps[0] == name:
            return found[1]
        return next((second for child in found if (second := child.second(steps[1:]))), None)

    def says(self) -> bool:
        """Say whether there is a text in it."""
        return any(node.text for node in self.all())

    def use(self) -> None:
        """Note that something was made of this element."""
        node: Node | None = self
        while node is not None and not node.used:
            node.used, node = True, node.parent

    def place(self) -> str:
        """Give the XPath, from the root; numbered where there are several of a name."""
        if self.parent is None:
            return f"/{self.name}"
        alike = [child for child in self.parent.children if child.name == self.name]
        number = f"[{alike.index(self) + 1}]" if len(alike) > 1 else ""
        return f"{self.parent.place()}/{self.name}{number}"

    def unused(self) -> Iterator["Node"]:
        """Give the elements that nothing was made of, the outermost alone."""
        for child in self.children:
            if child.used:
                yield from child.unused()
            else:
                yield child

    def all(self) -> Iterator["Node"]:
        """Give the element and all in it."""
        yield self
        for child in self.children:
            yield from child.all()


def named(told: str) -> str:
    """Give the name that stands in paths for one that the parser tells, "namespace name"."""
    namespace, _, name = told.rpartition(" ")
    prefix = PREFIXES.get(namespace)
    return f"{prefix}:{name}" if prefix else f"{{{namespace}}}{name}" if namespace else name
