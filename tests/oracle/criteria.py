"""Random criteria of recalls, of every sort, about what a log tells of: and now and then about what it does not."""

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random
from typing import Any

from tests.oracle.record import Message, Record


class Words:
    """What a log names: models, items, lots and serials of parts, serials of units."""

    def __init__(self, log: list[Record]) -> None:
        self.models, self.units = {"no-such-model"}, {"S-NONE"}
        self.items, self.lots, self.serials = {"no-such-item"}, {"NONE-1"}, {"P-NONE"}
        for record in log:
            said = record.message
            if record.kind == "registered":
                self.models.add(said["model"])
                self.units.add(said["serial"])
            parts = [said.get("in"), said.get("part"), *(one["part"] for one in said.get("parts") or [])]
            for part in (one for one in parts if one):
                self.items.add(part["item"])
                self.lots |= {part["lot"]} if part.get("lot") else set()
                self.serials |= {part["serial"]} if part.get("serial") else set()


def random_criteria(random: Random, words: Words) -> list[Message]:
    """Make up one criterion or some; any of them will do, and all within one must match."""
    return [one_criterion(random, words) for _ in range(random.choice([1, 1, 1, 1, 2, 3]))]


def one_criterion(random: Random, words: Words) -> Message:
    """Make up a criterion of parts, or of units, that says one thing or several."""
    sorts: list[Any] = [
        lot,
        lot,
        lots,
        lot_range,
        lot_range,
        item_alone,
        expiry,
        part_serials,
        unit_serials,
        unit_days,
        model_alone,
    ]
    return {name: value for name, value in dict(random.choice(sorts)(random, words)).items() if value is not None}


def item_of(random: Random, words: Words, often: float = 0.8) -> str | None:
    """Name an item, or leave it open."""
    return pick(random, words.items) if random.random() < often else None


def model_of(random: Random, words: Words, often: float = 0.2) -> str | None:
    """Name a model, or leave it open."""
    return pick(random, words.models) if random.random() < often else None


def lot(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name one lot, as somebody might write it."""
    yield from (("item", item_of(random, words)), ("model", model_of(random, words)))
    yield "lot", written(random, pick(random, words.lots))


def lots(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name some lots, perhaps cut by a range."""
    yield from (("item", item_of(random, words)), ("model", model_of(random, words)))
    yield "lots", [written(random, pick(random, words.lots)) for _ in range(random.randrange(1, 4))]
    yield "lot_from", pick(random, words.lots) if random.random() < 0.2 else None


def lot_range(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name a range of lots, either way round, or with one end open."""
    yield from (("item", item_of(random, words, 0.9)), ("model", model_of(random, words)))
    ends = random.choice([("lot_from",), ("lot_to",), ("lot_from", "lot_to"), ("lot_from", "lot_to")])
    yield from ((end, pick(random, words.lots)) for end in ends)


def item_alone(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name an item, perhaps in units of a model, perhaps by when it was made, which is on no record."""
    yield from (("item", pick(random, words.items)), ("model", model_of(random, words, 0.4)))
    yield "made_from", "2025-01-01" if random.random() < 0.2 else None


def expiry(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name expiries, perhaps of an item and a lot."""
    yield from (("item", item_of(random, words)), ("model", model_of(random, words)))
    first = date(2025, 6, 1) + timedelta(days=random.randrange(1800))
    last, month = first + timedelta(days=random.randrange(300)), slice(7 if random.random() < 0.3 else None)
    yield "expires_from", first.isoformat()[month]
    yield "expires_to", last.isoformat()[month] if random.random() < 0.7 else None
    yield "lot_to", pick(random, words.lots) if random.random() < 0.2 else None


def part_serials(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name serial numbers of parts of an item."""
    yield "item", pick(random, words.items)
    yield from serial_numbers(random, sorted(words.serials))


def unit_serials(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name serial numbers of units, perhaps of a model."""
    yield "model", model_of(random, words, 0.6)
    yield from serial_numbers(random, sorted(words.units))


def serial_numbers(random: Random, serials: list[str]) -> Iterator[tuple[str, Any]]:
    """Name some, or a range of those that lie near each other."""
    if random.random() < 0.5:
        yield "serials", [written(random, random.choice(serials)) for _ in range(random.randrange(1, 4))]
        return
    place = random.randrange(len(serials))
    yield from (("serial_from", serials[place]), ("serial_to", serials[min(place + 3, len(serials) - 1)]))


def unit_days(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name days of manufacture or of acquisition, perhaps of a model."""
    yield "model", model_of(random, words, 0.7)
    first = date(2024, 6, 1) + timedelta(days=random.randrange(600))
    name = random.choice(["made", "received"])
    yield from ((f"{name}_from", first.isoformat()), (f"{name}_to", (first + timedelta(days=40)).isoformat()))


def model_alone(random: Random, words: Words) -> Iterator[tuple[str, Any]]:
    """Name a model."""
    yield "model", pick(random, words.models)


def written(random: Random, label: str) -> str:
    """Write a label in capitals or not, with a space or what nobody sees around it or not, or wide."""
    wide = "".join(chr(ord(sign) + 0xFEE0) if "!" <= sign <= "~" else sign for sign in label)
    return random.choice([label, label.lower(), f" {label} ", f"\u200e{label}\ufeff", wide])


def pick(random: Random, words: set[str]) -> str:
    """Pick a word."""
    return random.choice(sorted(words))
