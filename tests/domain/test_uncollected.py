"""What the collector of cycles passes over."""

import pkgutil
from collections.abc import Iterator
from importlib import import_module

import msgspec

import service.domain
from service.domain.event import Event
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.value import Value


def structs(kind: type[msgspec.Struct] = msgspec.Struct) -> Iterator[type[msgspec.Struct]]:
    """Give every struct of the service that is defined by now."""
    for one in kind.__subclasses__():
        yield one
        yield from structs(one)


def test_only_what_cannot_be_in_a_cycle_is_passed_over() -> None:
    """What is made in great numbers is not looked through for cycles, and all of that is frozen."""
    for module in pkgutil.walk_packages(service.domain.__path__, "service.domain."):
        import_module(module.name)
    passed_over = {one for one in structs() if not one.__struct_config__.gc and one.__module__.startswith("service.")}
    assert {Event, Value, Unit, Stay} <= passed_over
    assert [one for one in passed_over if not one.__struct_config__.frozen] == []
