"""Nothing that the devices sent waits to be settled but what was refused as it had to be.

What had to wait was accepted when it could be. What a clock far ahead had stamped was told again rightly, which is
another message: the refused one stays until somebody looks at it.
"""

from seed.simulation.checks.asking import Asking, Found, Stated


async def check(asking: Asking, stated: Stated) -> Found:
    """List the messages that were not accepted and are still open."""
    sent = {one.id: one for one in stated.story.taken}
    refused, listed = stated.journal.refused, set[str]()
    differences = []
    async for page in asking.pages("/v1/rejected", status="open"):
        for one in page["rejected"]:
            event, what = one["event"], f"{one['kind']} of {one['asset']}"
            listed.add(event)
            if event in sent and event not in refused:
                differences.append(f"rejected message {one['rejected']}: event {event} ({what}) is still open")
    differences += [f"event {ident}: was refused and is not listed" for ident in refused if ident not in listed]
    waited = stated.journal.counts["waited"]
    return Found(what="answers that a message waits, none of them open", count=waited, differences=(*differences,))
