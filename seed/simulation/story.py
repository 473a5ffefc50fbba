"""A simulation before anything of it is sent: what happened, who takes it down, when it goes out, what is true."""

from datetime import datetime

import msgspec

from seed.book import Message
from seed.dice import Dice
from seed.simulation.devices import Device, Taken, devices, taken
from seed.simulation.places import models
from seed.simulation.rounds import Rounds, rounds
from seed.simulation.scale import Scale
from seed.simulation.truth import Truth
from seed.simulation.world import Played, play


class Story(msgspec.Struct, frozen=True, kw_only=True):
    """All messages: those that define the firm first, then those that devices took down."""

    scale: Scale
    played: Played
    devices: dict[str, Device]
    taken: tuple[Taken, ...]
    rounds: Rounds
    truth: Truth

    @property
    def before(self) -> list[Message]:
        """Give the messages that define the firm."""
        return [entry.message for entry in self.played.before]

    @property
    def sites(self) -> list[str]:
        """List the sites."""
        return [place.site.ref for place in self.played.places]


def story(scale: Scale, now: datetime) -> Story:
    """Make up a simulation that ends shortly before `now`. The same arguments give the same one."""
    played = play(scale, now)
    by_name = devices(played.places, Dice.named(scale.seed, "devices"), scale.faults)
    every = tuple(taken(played.entries, by_name, Dice.named(scale.seed, "counters")))
    sites = {place.site.ref: place.site for place in played.places}
    return Story(
        scale=scale,
        played=played,
        devices=by_name,
        taken=every,
        rounds=rounds(every, sites, played.eve, played.end, Dice.named(scale.seed, "lines"), scale.faults),
        truth=Truth(every, models(played.mark)),
    )
