"""What proposals and the events about them are called."""

from uuid import UUID

from service.domain.ordering.naming import Need, act_id, is_receipt_number, needs_of, proposal_id, receipt_number

FIRM, OTHER = UUID(int=1), UUID(int=2)


def test_a_name_follows_from_the_need_alone() -> None:
    """SHA-256 of each text after four bytes of its length, cut to 20 digits; computed by hand with sha256sum."""
    # printf '\x00\x00\x00\x04dock\x00\x00\x00\x02pf\x00\x00\x00\x010' | sha256sum
    assert proposal_id("dock", "pf", 0) == "pr-fabf53171bb41c207dbb"
    assert len(proposal_id("dock", "pf", 0)) == 23


def test_texts_that_run_into_each_other_have_names_of_their_own() -> None:
    """Lengths stand before them."""
    assert len({proposal_id("a", "bc", 0), proposal_id("ab", "c", 0), proposal_id("a", "b", 1)}) == 3


def test_a_receipt_has_the_number_of_its_proposal_and_of_the_newest_that_came() -> None:
    """A supplier's own number is none of these."""
    number = receipt_number("pr-fabf53171bb41c207dbb", 48211)
    assert number == "pr-fabf53171bb41c207dbb-48211"
    assert is_receipt_number(number)
    others = ["pr-fabf53171bb41c207dbb", "pr-fabf-48211", "DN-48211", f"{number}a", f"a{number}"]
    assert not any(map(is_receipt_number, others))


def test_the_name_of_an_act_is_that_of_its_words() -> None:
    """A UUID of version 5 of proposal, act, number and order (RFC 9562, 5.5); computed by hand with sha1sum."""
    # printf '\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\x01pr-1/order-placed/0/' | sha1sum
    # 5f02d26ad2d8b6ca3c30a86df4514819..., of which the 13th digit becomes 5, and the 17th has its upper bits 10
    assert str(act_id(FIRM, "pr-1", "order-placed")) == "5f02d26a-d2d8-56ca-bc30-a86df4514819"
    # printf '\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\x01pr-1/order-cancelled/0/PO-1' | sha1sum
    called_off = act_id(FIRM, "pr-1", "order-cancelled", order="PO-1")
    assert str(called_off) == "d1580abf-4ed5-5747-97bf-0d226a6b278e"


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
