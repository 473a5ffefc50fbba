from pathlib import Path

import pytest

from service.settings import Settings, SettingsError, from_environment


def test_empty_environment_gives_the_defaults() -> None:
    """Without a word from outside the packaged server is used, on the loopback alone."""
    assert from_environment({}) == Settings(
        database_url=None,
        migration_database_url=None,
        data=Path(".respirators"),
        host="127.0.0.1",
        port=8080,
        pool_size=8,
        drain_seconds=20,
    )


def test_environment_is_read() -> None:
    """Every setting has its variable."""
    told = {
        "DATABASE_URL": "postgresql://a@db/ledger",
        "MIGRATION_DATABASE_URL": "postgresql://o@db/ledger",
        "RESPIRATORS_DATA": "elsewhere",
        "RESPIRATORS_HOST": "::1",
        "RESPIRATORS_PORT": "80",
        "RESPIRATORS_POOL_SIZE": "32",
        "RESPIRATORS_LABEL_ADDRESS": "https://id.example.com/a/",
        "RESPIRATORS_WEBHOOK_KEY": "0123456789abcdef0123456789abcdef",
        "RESPIRATORS_WEBHOOK_PRIVATE": "yes",
        "RESPIRATORS_WEBHOOK_SECONDS": "5",
        "RESPIRATORS_DRAIN_SECONDS": "0",
    }
    assert from_environment(told) == Settings(
        database_url="postgresql://a@db/ledger",
        migration_database_url="postgresql://o@db/ledger",
        data=Path("elsewhere"),
        host="::1",
        port=80,
        pool_size=32,
        label_address="https://id.example.com/a",
        webhook_key="0123456789abcdef0123456789abcdef",
        webhook_private=True,
        webhook_seconds=5,
        drain_seconds=0,
    )


def test_a_key_that_is_a_guess_is_refused() -> None:
    """What secrets of webhooks come from is long, and is not repeated by the error."""
    with pytest.raises(SettingsError, match=r"RESPIRATORS_WEBHOOK_KEY .* at least 32 characters") as refused:
        from_environment({"RESPIRATORS_WEBHOOK_KEY": "hunter2"})
    assert "hunter2" not in str(refused.value)


def test_private_addresses_are_allowed_by_a_yes() -> None:
    """Nothing but yes and no says whether webhooks go to private addresses."""
    assert from_environment({"RESPIRATORS_WEBHOOK_PRIVATE": "no"}).webhook_private is False
    with pytest.raises(SettingsError, match="RESPIRATORS_WEBHOOK_PRIVATE is 'true', but should be yes or no"):
        from_environment({"RESPIRATORS_WEBHOOK_PRIVATE": "true"})


@pytest.mark.parametrize(
    ("variable", "text", "bounds"),
    [
        ("RESPIRATORS_PORT", "http", "0 to 65535"),
        ("RESPIRATORS_PORT", "65536", "0 to 65535"),
        ("RESPIRATORS_POOL_SIZE", "0", "1 to 500"),
        ("RESPIRATORS_DRAIN_SECONDS", "-1", "0 to 3600"),
    ],
)
def test_wrong_setting_is_named(variable: str, text: str, bounds: str) -> None:
    """A variable that cannot be read is named, with what it should be."""
    with pytest.raises(SettingsError) as refused:
        from_environment({variable: text})
    assert str(refused.value) == f"{variable} is {text!r}, but should be a whole number from {bounds}"


@pytest.mark.parametrize(
    "text",
    [
        "http://id.example.com",
        "https://",
        "https://id.example.com/?a=1",
        "https://id.example.com/#a",
        "https://id.example.com//",
        "https://me@id.example.com",
        "https://id.example.com/\n",
        "id.example.com",
        f"https://{'a' * 100}",
    ],
)
def test_labels_begin_with_an_address_of_their_own(text: str) -> None:
    """What labels begin with is a short https address without a query: it is printed for good."""
    with pytest.raises(SettingsError, match=r"RESPIRATORS_LABEL_ADDRESS is .* but should be an address such as https"):
        from_environment({"RESPIRATORS_LABEL_ADDRESS": text})
