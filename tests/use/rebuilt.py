"""Whether what is stored is what a rebuild makes of the log."""

from service.rebuild import differences
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.use.posting import ORGANISATION


def silent(_what: str, _done: int, _total: int) -> None:
    """Tell nobody of the progress."""


async def hold_to_a_rebuild(owner_url: str) -> None:
    """Make sure that all that is stored is as a rebuild tells it."""
    async with await connect(owner_url) as owner, owner.transaction():
        await set_organisation(owner, ORGANISATION)
        assert await differences(owner, ORGANISATION, silent) == []
