-- The leaf hash of a row (RFC 6962 section 2.1): SHA-256 over a zero byte, a header of length-prefixed fields, and the
-- body.
-- The twin in service/domain/leaf.py verifies what this writes.

CREATE FUNCTION ledger.microseconds(p_instant timestamptz) RETURNS bigint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN (extract(epoch FROM p_instant) * 1000000)::bigint;

CREATE FUNCTION ledger.entry_hash(p_entry bytea) RETURNS bytea
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN sha256('\x00'::bytea || p_entry);

CREATE FUNCTION ledger.leaf(
    p_organisation uuid, p_seq bigint, p_recorded_at timestamptz, p_received_at timestamptz, p_sent_at timestamptz,
    p_key uuid, p_kind_version smallint, p_imported boolean, p_body bytea
) RETURNS bytea
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN ledger.entry_hash(
    '\x0000000131'::bytea
    || '\x00000010'::bytea || uuid_send(p_organisation)
    || '\x00000008'::bytea || int8send(p_seq)
    || '\x00000008'::bytea || int8send(ledger.microseconds(p_recorded_at))
    || '\x00000008'::bytea || int8send(ledger.microseconds(p_received_at))
    || CASE WHEN p_sent_at IS NULL THEN '\x00000000'::bytea
            ELSE '\x00000008'::bytea || int8send(ledger.microseconds(p_sent_at)) END
    || '\x00000010'::bytea || uuid_send(p_key)
    || '\x00000002'::bytea || int2send(p_kind_version)
    || CASE WHEN p_imported THEN '\x0000000101'::bytea ELSE '\x0000000100'::bytea END
    || p_body);
