"""Erase what is kept longer than it should be: the bodies of rejected messages settled 90 days ago or earlier.

Answers kept for repeats of named requests go after seven days, and what webhooks delivered well after thirty. Made to
be run every night; running it again does no harm. It works in small transactions, so that nobody waits for it. Needs
the owner's connection (MIGRATION_DATABASE_URL, or the packaged server).
"""

import argparse
import os
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, TypeAlias
from uuid import UUID

from service.commands import arguments
from service.commands.telling import give, say
from service.settings import Settings, from_environment

if TYPE_CHECKING:
    from psycopg import AsyncConnection

Work: TypeAlias = "Callable[[AsyncConnection, UUID], Awaitable[int]]"

EXAMPLES = """  respirators prune
  17 3 * * *  cd /srv/ledger && python3 -m service prune       (a line of crontab, with the URLs in its environment)
"""
RETENTION = timedelta(days=90)
"""After its settlement a message has had its time to be looked at; ours, not law."""
DELIVERED = timedelta(days=30)
"""How long it is told that an event was delivered well; dead letters stay."""
BATCH = 1000
"""Messages of one transaction."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.any_organisation(parser)
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Erase, and say how much."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        for name, count in run_async(pruned(settings, options.organisation, datetime.now(UTC))).items():
            if options.json:
                give({"organisation": name, "erased": count})
            else:
                print(f"{name}: rejected messages erased: {count:,}")
    return 0


async def pruned(settings: Settings, name: str | None, now: datetime, batch: int = BATCH) -> dict[str, int]:
    """Erase what was settled by `now` less the retention, a transaction a batch; give the counts by organisation."""
    from service.commands.owner import each_organisation, owner
    from service.store.given_answer import KEPT
    from service.store.prune_answers import prune_answers
    from service.store.prune_deliveries import prune_deliveries
    from service.store.prune_rejected import prune_rejected

    async with owner(settings) as conn:
        known = [found async for found in each_organisation(conn, name)]
    rejected = partial(prune_rejected, at=now, settled_until=now - RETENTION, limit=batch)
    answers = partial(prune_answers, until=now - KEPT, limit=batch)
    deliveries = partial(prune_deliveries, until=now - DELIVERED, limit=batch)
    counts = {}
    for organisation, its_name in known:
        counts[its_name] = await _to_the_end(settings, organisation, rejected, batch)
        await _to_the_end(settings, organisation, answers, batch)
        await _to_the_end(settings, organisation, deliveries, batch)
    return counts


async def _to_the_end(settings: Settings, organisation: UUID, work: Work, batch: int) -> int:
    """Do some work a batch at a time, until there is no more of it; give how much there was."""
    from service.commands.owner import owner
    from service.store.scope import set_organisation

    done, more = 0, batch
    while more == batch:
        async with owner(settings) as conn:
            await set_organisation(conn, organisation)
            more = await work(conn, organisation)
        done += more
    return done
