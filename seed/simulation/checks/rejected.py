"""Nothing that the devices sent waits to be settled: what had to wait was accepted when it could be."""

from seed.simulation.checks.asking import Asking, Found, Stated


async def check(asking: Asking, stated: Stated) -> Found:
    """List the messages that were not accepted and are still open."""
    sent = {one.id: one for one in stated.story.taken}
    differences = [
        f"rejected message {one['rejected']}: event {one['event']} ({one['kind']} of {one['asset']}) is still open"
        async for page in asking.pages("/v1/rejected", status="open")
        for one in page["rejected"]
        if one["event"] in sent
    ]
    waited = stated.journal.counts["waited"]
    return Found(what="answers that a message waits, none of them open", count=waited, differences=(*differences,))
