"""Members that stand twice in one object."""

import pytest

from service.domain.doubled import doubled, named, parsed


@pytest.mark.parametrize(
    ("raw", "pointer"),
    [
        (b'{"a":1,"b":{"a":2},"c":[{"a":3},{"a":4}]}', None),
        (b"[]", None),
        (b'"a"', None),
        (b'{"a":1,"a":1}', "/a"),
        (b'{"a":{"b":1,"b":2},"c":1,"c":2}', "/c"),
        (b'[0,{"a":[{},{"b":1,"b":2}]}]', "/1/a/1/b"),
        (b'{"x":{"a":1,"a":2},"y":{"b":1,"b":2}}', "/x/a"),
        (b'{"a~/b":1,"a~/b":2}', "/a~0~1b"),
        (b'{"a":"\t","a":NaN}', "/a"),
        (b'{"a":1' + b"1" * 5000 + b',"a":2}', "/a"),
        (b'{"a":1,"a":2', None),
        (b'{"a":1,"a":"\xff"}', None),
        (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, None),
    ],
)
def test_the_first_that_stands_twice_is_named(raw: bytes, pointer: str | None) -> None:
    """Outer objects come before inner ones; of what is no JSON, or nested too deep, nothing is said."""
    assert doubled(raw) == pointer


def test_every_value_of_a_name_is_given_in_order() -> None:
    """Objects within are told alike."""
    said = parsed('{"a":1,"b":{"c":2,"c":3},"a":null}')
    assert list(named(said, "a")) == [1, None]
    assert [list(named(one, "c")) for one in named(said, "b")] == [[2, 3]]
    assert list(named(said, "d")) == []
