"""A tag that was freed and given to another unit means that one since (R47)."""

import httpx

from tests.http.firm import Headers, ago, message, model, post, registered, site

TAGS = [f"FX-{nth}" for nth in range(6)]


async def serials(http: httpx.AsyncClient, headers: Headers, **asked: str) -> list[str]:
    """Read the units of the tags, and give their serial numbers."""
    answers = [await http.get(f"/v1/assets/{tag}", headers=headers, params=asked) for tag in TAGS]
    return [answered.json()["serial"] for answered in answers]


async def test_a_tag_means_the_unit_it_was_given_last(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Retired units keep their tags, and others have them since: the tag tells of these, and of those as before."""
    await post(http, administrator, site("harrow-dock"), model())
    for tag in TAGS:
        retired = message("retired", asset=tag, reason="damaged", occurred_at=ago(hours=9))
        again = registered(tag, serial=f"NEW-{tag}", occurred_at=ago(hours=8))
        await post(http, administrator, registered(tag), retired, again)

    assert await serials(http, administrator) == [f"NEW-{tag}" for tag in TAGS]
    assert await serials(http, administrator, as_at=ago(hours=8.5)) == [f"NW-{tag}" for tag in TAGS]


async def test_a_tag_that_nobody_has_means_who_had_it_last(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Two units had the tag one after the other and were given others: it tells of the second."""
    await post(http, administrator, site("harrow-dock"), model())
    for tag in TAGS:
        await post(
            http,
            administrator,
            registered(tag),
            message("retagged", asset=tag, new_tag=f"A-{tag}", occurred_at=ago(hours=9)),
            registered(tag, serial=f"NEW-{tag}", occurred_at=ago(hours=8)),
            message("retagged", asset=tag, new_tag=f"B-{tag}", occurred_at=ago(hours=7)),
        )

    assert await serials(http, administrator) == [f"NEW-{tag}" for tag in TAGS]
