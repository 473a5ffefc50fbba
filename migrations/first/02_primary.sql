-- What is neither claimed by an event nor derived from one: backed up, never rebuilt.

CREATE TABLE ledger.organisation (
    organisation uuid        NOT NULL,
    name         text        NOT NULL,
    created_at   timestamptz NOT NULL,
    CONSTRAINT organisation_pk PRIMARY KEY (organisation)
);

CREATE TABLE ledger.api_key (
    organisation uuid        NOT NULL,
    id           uuid        NOT NULL,
    name         text        NOT NULL,
    role         text        NOT NULL,
    sites        text[],
    secret_hash  bytea       NOT NULL,
    created_at   timestamptz NOT NULL,
    expires_at   timestamptz,
    revoked_at   timestamptz,
    CONSTRAINT api_key_pk PRIMARY KEY (organisation, id),
    CONSTRAINT api_key_secret_once UNIQUE (secret_hash),
    CONSTRAINT api_key_secret_is_sha256 CHECK (octet_length(secret_hash) = 32),
    CONSTRAINT api_key_of_organisation FOREIGN KEY (organisation) REFERENCES ledger.organisation
);

COMMENT ON COLUMN ledger.api_key.sites IS 'The sites the key is bound to; null is all of them.';

CREATE TABLE ledger.person (
    organisation uuid NOT NULL,
    person       text COLLATE "C" NOT NULL,
    name         text NOT NULL,
    CONSTRAINT person_pk PRIMARY KEY (organisation, person)
);

COMMENT ON TABLE ledger.person IS 'The only place of names. Events speak of references; a name can be erased here.';

CREATE TABLE ledger.free_text (
    organisation uuid  NOT NULL,
    event        uuid  NOT NULL,
    path         text  COLLATE "C" NOT NULL,
    key          bytea NOT NULL,
    text         text  NOT NULL,
    CONSTRAINT free_text_pk PRIMARY KEY (organisation, event, path)
);

COMMENT ON TABLE ledger.free_text IS
    'Erasable text. The body holds HMAC-SHA-256(key, text) at the path: erasing the row leaves every proof valid.';

CREATE TABLE ledger.rejected_message (
    organisation     uuid        NOT NULL,
    id               uuid        NOT NULL,
    key              uuid        NOT NULL,
    role             text        NOT NULL,
    sites            text[],
    received_at      timestamptz NOT NULL,
    last_received_at timestamptz NOT NULL,
    recorded_at      timestamptz NOT NULL,
    sent_at          timestamptz,
    imported         boolean     NOT NULL,
    count            integer     NOT NULL DEFAULT 1,
    body             bytea,
    body_hash        bytea       NOT NULL,
    fields           text[],
    erased_at        timestamptz,
    kept             text        COLLATE "C" NOT NULL GENERATED ALWAYS AS (CASE
        WHEN erased_at IS NOT NULL THEN 'erased'
        WHEN body IS NOT NULL THEN 'whole'
        WHEN fields IS NOT NULL THEN 'fields'
        ELSE 'report' END) STORED,
    event            uuid,
    kind             text        COLLATE "C",
    tag              text        COLLATE "C",
    site             text        COLLATE "C",
    device           text        COLLATE "C",
    device_seq       bigint,
    adverse          boolean     NOT NULL,
    status           smallint    NOT NULL,
    problem          bytea       NOT NULL,
    waiting_for      text[]      NOT NULL,
    waits_since      timestamptz,
    state            text        COLLATE "C" NOT NULL DEFAULT 'open',
    settled_at       timestamptz,
    settled_by       text        COLLATE "C",
    settled_key      uuid,
    reason           text,
    accepted_seq     bigint,
    CONSTRAINT rejected_message_pk PRIMARY KEY (organisation, id),
    CONSTRAINT rejected_message_once UNIQUE (organisation, key, body_hash),
    CONSTRAINT rejected_message_state CHECK (state IN ('open', 'accepted', 'corrected', 'dismissed')),
    CONSTRAINT rejected_message_settled CHECK ((state = 'open') = (settled_at IS NULL)),
    CONSTRAINT rejected_message_accepted CHECK ((state IN ('accepted', 'corrected')) = (accepted_seq IS NOT NULL)),
    CONSTRAINT rejected_message_dismissed_with_reason CHECK (state <> 'dismissed' OR reason IS NOT NULL)
);

COMMENT ON COLUMN ledger.rejected_message.role IS 'With sites: what the key was allowed at first receipt.';
COMMENT ON COLUMN ledger.rejected_message.device IS
    'With its number, as far as they could be read: what a device sent says that it is there, though it was refused.';
COMMENT ON COLUMN ledger.rejected_message.waiting_for IS
    'References that are missing; when one arrives the message is tried again.';
COMMENT ON COLUMN ledger.rejected_message.waits_since IS 'The moment at which it came to wait for what it waits for.';
COMMENT ON COLUMN ledger.rejected_message.body IS
    'Null once erased, and where it was not kept; the hash stays, so that a repeat is still the same message.';
COMMENT ON COLUMN ledger.rejected_message.kept IS
    'What is left of the message. report: that it reports a failure, its key having had no room for more.';
COMMENT ON COLUMN ledger.rejected_message.fields IS
    'Of a message that may have held medical data: the names of its fields, in the place of the body.';

CREATE INDEX rejected_message_device ON ledger.rejected_message (organisation, device, recorded_at)
    WHERE device IS NOT NULL;
CREATE INDEX rejected_message_event ON ledger.rejected_message (organisation, event) WHERE state = 'open';
CREATE INDEX rejected_message_listed ON ledger.rejected_message (organisation, recorded_at, id);
CREATE INDEX rejected_message_of_key ON ledger.rejected_message (organisation, key) WHERE state = 'open';
CREATE INDEX rejected_message_settled ON ledger.rejected_message (organisation, settled_at)
    WHERE state <> 'open' AND erased_at IS NULL;
CREATE INDEX rejected_message_waits ON ledger.rejected_message (organisation)
    WHERE state = 'open' AND waiting_for <> '{}';
CREATE INDEX rejected_message_waiting ON ledger.rejected_message USING gin (waiting_for)
    WHERE state = 'open' AND waiting_for <> '{}';

CREATE TABLE ledger.failure_report (
    organisation uuid        NOT NULL,
    id           uuid        NOT NULL,
    tag          text        COLLATE "C" NOT NULL,
    key          uuid        NOT NULL,
    received_at  timestamptz NOT NULL,
    recorded_at  timestamptz NOT NULL,
    sent_at      timestamptz,
    settled_at   timestamptz,
    settled_by   text        COLLATE "C",
    settled_key  uuid,
    accepted_seq bigint,
    CONSTRAINT failure_report_pk PRIMARY KEY (organisation, id)
);

COMMENT ON TABLE ledger.failure_report IS
    'A report of a failure that could not be accepted: it outlives the message of the same id and keeps both clocks.';

CREATE INDEX failure_report_tag ON ledger.failure_report (organisation, tag);
CREATE INDEX failure_report_open ON ledger.failure_report (organisation, recorded_at) WHERE settled_at IS NULL;

CREATE TABLE ledger.given_answer (
    organisation uuid        NOT NULL,
    key          uuid        NOT NULL,
    name         text        COLLATE "C" NOT NULL,
    asked        bytea       NOT NULL,
    given_at     timestamptz NOT NULL,
    status       smallint    NOT NULL,
    media        text        NOT NULL,
    headers      bytea       NOT NULL,
    body         bytea       NOT NULL,
    CONSTRAINT given_answer_pk PRIMARY KEY (organisation, key, name)
);

COMMENT ON TABLE ledger.given_answer IS
    'Answers to requests that a sender gave a name (Idempotency-Key): the same request is answered with the same bytes.';
COMMENT ON COLUMN ledger.given_answer.asked IS 'SHA-256 of what was asked; the name belongs to that alone.';
COMMENT ON COLUMN ledger.given_answer.headers IS 'The headers of the answer that are its own, as JSON.';

CREATE INDEX given_answer_old ON ledger.given_answer (organisation, given_at);

CREATE TABLE ledger.webhook (
    organisation  uuid        NOT NULL,
    id            uuid        NOT NULL,
    version       bigint      NOT NULL,
    key           uuid        NOT NULL,
    sites         text[],
    url           text        NOT NULL,
    purpose       text,
    kinds         text[],
    site          text        COLLATE "C",
    subject       text        COLLATE "C",
    state         text        COLLATE "C" NOT NULL,
    reason        text        COLLATE "C",
    salt          bytea       NOT NULL,
    mark          bytea       NOT NULL,
    old_salts     bytea[]     NOT NULL DEFAULT '{}',
    old_untils    timestamptz[] NOT NULL DEFAULT '{}',
    created_at    timestamptz NOT NULL,
    passed        bigint      NOT NULL,
    failures      integer     NOT NULL DEFAULT 0,
    failing_since timestamptz,
    rests_until   timestamptz,
    delivered_at  timestamptz,
    leased_by     uuid,
    leased_until  timestamptz,
    CONSTRAINT webhook_pk PRIMARY KEY (organisation, id),
    CONSTRAINT webhook_of_key FOREIGN KEY (organisation, key) REFERENCES ledger.api_key,
    CONSTRAINT webhook_state CHECK (state IN ('active', 'paused', 'disabled')),
    CONSTRAINT webhook_disabled_for_a_reason CHECK ((state = 'disabled') = (reason IS NOT NULL)),
    CONSTRAINT webhook_old_secrets_end CHECK (cardinality(old_salts) = cardinality(old_untils)),
    CONSTRAINT webhook_lease_ends CHECK ((leased_by IS NULL) = (leased_until IS NULL))
) WITH (fillfactor = 50);

COMMENT ON TABLE ledger.webhook IS
    'Where events are sent as they are recorded. The log is what is to be sent: a webhook is a place in it.';
COMMENT ON COLUMN ledger.webhook.version IS
    'Begins anywhere and grows by one with each change: a webhook made again under an id has none of the one before.';
COMMENT ON COLUMN ledger.webhook.key IS 'The key it hangs on: that which made or last changed it. It stops with it.';
COMMENT ON COLUMN ledger.webhook.sites IS 'The sites whose events it may see, those of the key that made it; null: all.';
COMMENT ON COLUMN ledger.webhook.salt IS
    'The signing secret is HMAC-SHA-256 of this by a key that the database never sees (service/pushing/secret.py).';
COMMENT ON COLUMN ledger.webhook.mark IS 'By this a secret that another key gave is known for a wrong one.';
COMMENT ON COLUMN ledger.webhook.old_salts IS
    'Of secrets before, each of which signs beside the newest until the moment in its place of old_untils.';
COMMENT ON COLUMN ledger.webhook.passed IS 'Every event up to this seq has been sent once, or is not for it.';
COMMENT ON COLUMN ledger.webhook.leased_until IS
    'Until then, by the clock of the database, the process leased_by alone sends for it.';

CREATE TABLE ledger.webhook_delivery (
    organisation uuid        NOT NULL,
    webhook      uuid        NOT NULL,
    seq          bigint      NOT NULL,
    event        uuid        NOT NULL,
    state        text        COLLATE "C" NOT NULL,
    attempts     integer     NOT NULL,
    first_at     timestamptz NOT NULL,
    last_at      timestamptz NOT NULL,
    next_at      timestamptz,
    status       smallint,
    error        text        COLLATE "C",
    milliseconds integer     NOT NULL,
    CONSTRAINT webhook_delivery_pk PRIMARY KEY (organisation, webhook, seq),
    CONSTRAINT webhook_delivery_of_webhook FOREIGN KEY (organisation, webhook) REFERENCES ledger.webhook
        ON DELETE CASCADE,
    CONSTRAINT webhook_delivery_state CHECK (state IN ('delivered', 'waiting', 'dead')),
    CONSTRAINT webhook_delivery_waits_for CHECK ((state = 'waiting') = (next_at IS NOT NULL))
);

COMMENT ON TABLE ledger.webhook_delivery IS
    'What became of each event that was sent: the log of deliveries, those to be tried again, and dead letters.';
COMMENT ON COLUMN ledger.webhook_delivery.attempts IS 'Since it was first sent, or last replayed.';
COMMENT ON COLUMN ledger.webhook_delivery.error IS 'A word for what went wrong last; nothing of what was answered.';

CREATE INDEX webhook_delivery_due ON ledger.webhook_delivery (organisation, webhook, next_at) WHERE state = 'waiting';
CREATE INDEX webhook_delivery_holding ON ledger.webhook_delivery (organisation, webhook)
    WHERE state = 'waiting' AND error <> 'refused';
CREATE INDEX webhook_delivery_dead ON ledger.webhook_delivery (organisation, webhook, seq) WHERE state = 'dead';
CREATE INDEX webhook_delivery_old ON ledger.webhook_delivery (organisation, last_at) WHERE state = 'delivered';
