"""What proposals and the events about them are called."""

from uuid import UUID

from service.domain.ordering.naming import Need, act_id, needs_of, proposal_id

FIRM, OTHER = UUID(int=1), UUID(int=2)


def test_a_name_follows_from_the_need_alone() -> None:
    """SHA-256 of each text after four bytes of its length, cut to 20 digits; computed by hand with sha256sum."""
    # printf '\x00\x00\x00\x04dock\x00\x00\x00\x02pf\x00\x00\x00\x010' | sha256sum
    assert proposal_id("dock", "pf", 0) == "pr-fabf53171bb41c207dbb"
    assert len(proposal_id("dock", "pf", 0)) == 23


def test_texts_that_run_into_each_other_have_names_of_their_own() -> None:
    """Lengths stand before them."""
    assert len({proposal_id("a", "bc", 0), proposal_id("ab", "c", 0), proposal_id("a", "b", 1)}) == 3


def test_an_act_is_named_by_what_is_done_and_anew_once_it_was_voided() -> None:
    """Another firm's, another act's and the next one's are others; the same is the same."""
    placed = act_id(FIRM, "pr-1", "order-placed")
    assert placed == act_id(FIRM, "pr-1", "order-placed", {UUID(int=3)})
    others = {
        act_id(OTHER, "pr-1", "order-placed"),
        act_id(FIRM, "pr-1", "order-cancelled"),
        act_id(FIRM, "pr-1", "order-placed", {placed}),
        act_id(FIRM, "pr-2", "order-placed"),
    }
    assert len(others) == 4
    assert placed not in others


def test_needs_are_found_behind_the_names_that_were_used_and_the_next() -> None:
    """The walk of a pair ends behind the first name that nobody used."""
    pairs = [("dock", "pf"), ("yard", "pf")]
    first, second, third = (proposal_id("dock", "pf", n) for n in range(3))
    assert needs_of(pairs, {first}) == {first: Need("dock", "pf", 0)}
    assert needs_of(pairs, {first}, {second}) == {first: Need("dock", "pf", 0), second: Need("dock", "pf", 1)}
    assert needs_of(pairs, {second, third}, {third}) == {}
