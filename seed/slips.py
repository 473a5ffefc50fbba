"""Slips of the wire and of people: repeats, typing errors, and news of a unit that nobody had registered yet."""

from datetime import timedelta

import msgspec

from seed.delivery import Delivery
from seed.dice import Dice

REPEATED = 0.002
WRONG_TAGS = ("FX-7113", "FX-0O42")
FIRST_DAYS = timedelta(days=10)
LATE_PAPERS = timedelta(days=2)


def slips(dice: Dice, deliveries: list[Delivery]) -> list[Delivery]:
    """Make the deliveries that come beside the proper ones; each copies one of them."""
    asset = [
        one for one in deliveries if one.key_role == "site-app" and "asset" in one.message and one.expects == "recorded"
    ]
    extra = [_again(dice, one) for one in asset if dice.happens(REPEATED)]
    checks = [one for one in asset if one.message["kind"] == "checked" and "battery_percent" in one.message]
    extra += [_mistake(dice, dice.choice(checks), asset=tag) for tag in WRONG_TAGS]
    extra.append(_clash(dice.choice([one for one in checks if one.imported])))
    live = [one for one in checks if not one.imported and one.site == "callow-forge"]
    if live:
        extra.append(_mistake(dice, live[-1], site="eastmere-yard"))
    return extra


def _again(dice: Dice, one: Delivery) -> Delivery:
    """Deliver the same message once more."""
    return msgspec.structs.replace(one, at=one.at + timedelta(minutes=dice.between(1, 2000)), expects="repeated")


def _mistake(dice: Dice, one: Delivery, **wrong: object) -> Delivery:
    """Deliver a message of its own that can't be accepted: a tag that nobody knows, a site the key is not for."""
    message = one.message | {"id": dice.uuid(one.at)} | wrong
    return msgspec.structs.replace(one, message=message, at=one.at + timedelta(seconds=5), expects="rejected")


def _clash(one: Delivery) -> Delivery:
    """Deliver other content under an identifier that is taken."""
    message = one.message | {"battery_percent": 41}
    return msgspec.structs.replace(one, message=message, at=one.at + timedelta(hours=3), expects="rejected")


def register_late(deliveries: list[Delivery]) -> None:
    """Let the papers of the first unit bought within the year come late: what is told of it before waits."""
    opening = min(one.at for one in deliveries if "asset" in one.message) + FIRST_DAYS
    late = next((one for one in deliveries if one.message["kind"] == "registered" and one.at > opening), None)
    if late is None:
        return
    late.at += LATE_PAPERS
    for one in deliveries:
        if one is not late and one.message.get("asset") == late.message["asset"] and one.at <= late.at:
            one.expects = "waiting"
