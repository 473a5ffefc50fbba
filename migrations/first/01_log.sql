-- The log: what was claimed, and nothing else. Rows are added by ledger.append and never change.

CREATE TABLE ledger.head (
    organisation     uuid        NOT NULL,
    last_seq         bigint      NOT NULL DEFAULT 0,
    last_recorded_at timestamptz NOT NULL DEFAULT '1970-01-01T00:00:00Z',
    context_seq      bigint      NOT NULL DEFAULT 0,
    CONSTRAINT head_pk PRIMARY KEY (organisation),
    CONSTRAINT head_context_is_recorded CHECK (context_seq BETWEEN 0 AND last_seq)
) WITH (fillfactor = 50);

COMMENT ON TABLE ledger.head IS
    'One counter row an organisation: the last lock of every write, so that the order of seq is the order of commit.';
COMMENT ON COLUMN ledger.head.last_recorded_at IS
    'The newest moment given to an event, a rejected message, its settlement or a rewriting of what is derived.';
COMMENT ON COLUMN ledger.head.context_seq IS
    'The newest event that is reference data, about a person, or the voiding of one: decisions name the one they knew.';

CREATE TABLE ledger.event (
    organisation uuid        NOT NULL,
    seq          bigint      NOT NULL,
    id           uuid        NOT NULL,
    kind         text        COLLATE "C" NOT NULL,
    kind_version smallint    NOT NULL,
    instant      timestamptz,
    on_day       date,
    by_ref       text        COLLATE "C" NOT NULL,
    site         text        COLLATE "C",
    device       text        COLLATE "C",
    device_seq   bigint,
    received_at  timestamptz NOT NULL,
    recorded_at  timestamptz NOT NULL,
    sent_at      timestamptz,
    key          uuid        NOT NULL,
    imported     boolean     NOT NULL,
    body         bytea       NOT NULL,
    leaf         bytea       NOT NULL,
    conflicts    bytea       NOT NULL,
    CONSTRAINT event_pk PRIMARY KEY (organisation, seq),
    CONSTRAINT event_id_once UNIQUE (organisation, id),
    CONSTRAINT event_seq_positive CHECK (seq > 0),
    CONSTRAINT event_instant_or_day CHECK ((instant IS NULL) <> (on_day IS NULL)),
    CONSTRAINT event_leaf_is_sha256 CHECK (octet_length(leaf) = 32)
);

COMMENT ON COLUMN ledger.event.seq IS 'Gap-free within the organisation, in order of commit.';
COMMENT ON COLUMN ledger.event.received_at IS 'First receipt of the message; recorded_at is the moment of this row.';
COMMENT ON COLUMN ledger.event.body IS
    'The event as one deterministic encoder wrote it: exactly the bytes that were hashed.';
COMMENT ON COLUMN ledger.event.conflicts IS
    'The judgement at this seq as it was answered; a repeat is answered with it again.';

-- Two ways through a device's own counter: later numbers with an earlier clock, earlier numbers with a later one. The
-- second lists devices, too, those that number nothing included, and says at which sites they are.
CREATE INDEX event_device_order ON ledger.event (organisation, device, device_seq, instant) INCLUDE (seq)
    WHERE device IS NOT NULL AND device_seq IS NOT NULL;
CREATE INDEX event_device_clock ON ledger.event (organisation, device, instant, device_seq) INCLUDE (seq, site)
    WHERE device IS NOT NULL;
