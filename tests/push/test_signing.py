import base64
from datetime import UTC, datetime
from uuid import UUID

import pytest
from standardwebhooks import Webhook, WebhookVerificationError

from service.pushing.outlet import Outlet
from service.pushing.secret import new_secret, shown
from service.pushing.sending import Way
from service.pushing.signing import headers, signature
from service.store.lease_webhook import Leased
from tests.http.firm import WEBHOOK_KEY as KEY

ORGANISATION = UUID("0198c1f2-0000-7000-8000-000000000001")
WEBHOOK = UUID("0198c1f2-b000-7000-8000-0000000000d1")
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
BODY = b'{"test": 2432232314}'


def test_the_published_vector() -> None:
    """The example that all libraries of Standard Webhooks share (standard-webhooks@b2fa7b8) is signed as there."""
    secret = base64.b64decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
    said = signature(secret, "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, BODY)
    assert said == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_the_published_library_takes_our_signatures() -> None:
    """A message signed with two secrets is verified with either, and with no other."""
    first, second, other = (new_secret(KEY.encode(), ORGANISATION, WEBHOOK) for _ in range(3))
    told = headers([first.secret, second.secret], "m-1", int(datetime.now(UTC).timestamp()), BODY)
    for one in (first, second):
        assert Webhook(shown(one.secret)).verify(BODY, told) == {"test": 2432232314}
    with pytest.raises(WebhookVerificationError):
        Webhook(shown(other.secret)).verify(BODY, told)
    with pytest.raises(WebhookVerificationError):
        Webhook(shown(first.secret)).verify(BODY + b" ", told)


def test_a_secret_is_as_long_as_it_should_be() -> None:
    """A secret is 32 bytes, within the 24 to 64 that Standard Webhooks asks for, and begins with its mark."""
    text = shown(new_secret(KEY.encode(), ORGANISATION, WEBHOOK).secret)
    assert text.startswith("whsec_")
    assert len(base64.b64decode(text.removeprefix("whsec_"))) == 32


def leased(salt: bytes, mark: bytes, *old: tuple[bytes, datetime]) -> Leased:
    """Give a webhook with these secrets."""
    return Leased(
        id=WEBHOOK,
        version=1,
        key=WEBHOOK,
        role="integrator",
        sites=None,
        url="https://erp.example.com/",
        kinds=None,
        site=None,
        subject=None,
        salt=salt,
        mark=mark,
        old_salts=[one for one, _ in old],
        old_untils=[until for _, until in old],
        passed=0,
        failures=0,
        failing_since=None,
        rests_until=None,
        key_ended=False,
    )


def test_secrets_are_computed_from_the_operators_key_alone() -> None:
    """The same key gives the same secret again; another key, or none, gives none rather than a wrong one."""
    made = new_secret(KEY.encode(), ORGANISATION, WEBHOOK)
    way = Way(private=False, seconds=1)
    assert Outlet(KEY, way).secrets(ORGANISATION, leased(made.salt, made.mark), NOON) == [made.secret]
    assert Outlet(KEY + "x", way).secrets(ORGANISATION, leased(made.salt, made.mark), NOON) == []
    assert Outlet(None, way).secrets(ORGANISATION, leased(made.salt, made.mark), NOON) == []
    assert Outlet(KEY, way).secrets(WEBHOOK, leased(made.salt, made.mark), NOON) == []


def test_old_secrets_sign_until_they_end() -> None:
    """Each signs as long as it overlaps, the newest first; from its end on it signs no more."""
    older, old, new = (new_secret(KEY.encode(), ORGANISATION, WEBHOOK) for _ in range(3))
    outlet = Outlet(KEY, Way(private=False, seconds=1))
    all_three = leased(new.salt, new.mark, (old.salt, NOON.replace(hour=13)), (older.salt, NOON))
    assert outlet.secrets(ORGANISATION, all_three, NOON.replace(hour=11)) == [new.secret, old.secret, older.secret]
    assert outlet.secrets(ORGANISATION, all_three, NOON) == [new.secret, old.secret]
    assert outlet.secrets(ORGANISATION, all_three, NOON.replace(hour=13)) == [new.secret]
