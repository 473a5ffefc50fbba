import pytest

from service.domain.doubled import doubled, named, parsed


@pytest.mark.parametrize(
    ("raw", "pointer"),
    [
        (b'{"a":1,"b":2}', None),
        (b'{"a":1,"a":1}', "/a"),
        (b'{"a":{"x":1},"b":[{"y":1},{"y":1,"z":2,"y":3}]}', "/b/1/y"),
        (b'{"a":{"x":1,"x":2},"b":1,"b":2}', "/b"),
        (b'{"a":"line\nbreak","a":1}', "/a"),
        (b'{"a/b":1,"a/b":2}', "/a~1b"),
        (b"no JSON", None),
        (b'{"a":"\xff","a":1}', None),
        (b"[" * 100_000, None),
        (b"1", None),
    ],
)
def test_the_first_member_that_stands_twice_is_named(raw: bytes, pointer: str | None) -> None:
    """Outer objects before inner ones, in the order of the text; of what is no JSON text nothing is said."""
    assert doubled(raw) == pointer


def test_an_object_keeps_every_value_of_a_name() -> None:
    """In the order of the text, also where a text has a line break that strict readers refuse."""
    found = parsed('{"a":1,"b":{"c":"x\ny"},"a":2}')
    assert list(named(found, "a")) == [1, 2]
    assert list(named(found, "b")) == [(("c", "x\ny"),)]
    assert list(named(found, "z")) == []


def test_a_text_that_is_no_json_cannot_be_parsed() -> None:
    """The reader says so."""
    with pytest.raises(ValueError, match="Expecting value"):
        parsed("no JSON")
