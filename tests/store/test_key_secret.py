import pytest

from service.store.key_secret import ALPHABET, check_of, key_hash, new_key_secret

GOOD = "rl_" + "0" * 30 + "2C8GjS"


@pytest.mark.parametrize(
    ("body", "check"),
    [
        ("0" * 30, "2C8GjS"),  # CRC-32 2011552642, by zlib
        ("abcdefghijABCDEFGHIJ0123456789", "2C2O59"),  # CRC-32 2010150927, by zlib
        ("123456789", "3jZRME"),  # CRC-32 0xCBF43926, the check value of CRC-32/ISO-HDLC in the CRC catalogue
    ],
)
def test_check_is_base62_of_the_crc(body: str, check: str) -> None:
    """The six last characters are the CRC-32 of the body in base62, most significant digit first."""
    assert check_of(body) == check


def test_hash_is_sha_256_of_the_whole_key() -> None:
    """What is stored is the plain SHA-256 of the text as it is presented (computed with sha256sum)."""
    expected = "55a1bf986420b4e7132f5333b2bfbaddb4539ece3ad0c2225eeda6d9cfbd68a0"
    stored = key_hash(GOOD)
    assert stored is not None
    assert stored.hex() == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        "rl_",
        GOOD[:-1],
        GOOD + "0",
        "rl_" + "0" * 30 + "2C8GjT",
        "rl_1" + "0" * 29 + "2C8GjS",
        "RL_" + "0" * 30 + "2C8GjS",
        "rl_" + "é" * 30 + "2C8GjS",
        "xx_" + "0" * 30 + "2C8GjS",
    ],
)
def test_what_cannot_be_a_key_has_no_hash(text: str) -> None:
    """A wrong length, prefix, check or alphabet is told without asking the database."""
    assert key_hash(text) is None


def test_new_keys_are_good_and_all_different() -> None:
    """A drawn key passes its own check, is stored by its hash, and never comes twice."""
    drawn = [new_key_secret() for _ in range(200)]
    assert len({secret.text for secret in drawn}) == 200
    for secret in drawn:
        assert secret.text.startswith("rl_")
        assert len(secret.text) == 39
        assert set(secret.text[3:]) <= set(ALPHABET)
        assert key_hash(secret.text) == secret.hash
        assert len(secret.hash) == 32
