-- What every writing function asks first, and the lock that orders an organisation's writes.

-- Say no to another organisation than the transaction's, and to a snapshot older than the statement: after each wait
-- for a lock the next statement must see what the one before us committed.
CREATE FUNCTION ledger.demand(p_organisation uuid) RETURNS void LANGUAGE plpgsql STABLE AS $$
BEGIN
    IF p_organisation IS DISTINCT FROM nullif(current_setting('ledger.organisation', true), '')::uuid THEN
        RAISE EXCEPTION 'organisation % is not the one of this transaction', p_organisation USING ERRCODE = '42501';
    END IF;
    IF current_setting('transaction_isolation') <> 'read committed' THEN
        RAISE EXCEPTION 'a transaction that writes the ledger is READ COMMITTED' USING ERRCODE = '25001';
    END IF;
END
$$;

-- Writers hold this lock exclusively from the moment they draw seq and time up to commit; readers take it shared for
-- as long as it takes to fix their snapshot.
CREATE FUNCTION ledger.lock_key(p_organisation uuid) RETURNS bigint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN hashtextextended(p_organisation::text, 6962);

-- Writers of kins pass this gate together, before they lock any; a rebuild closes it. Without the gate a rebuild would
-- wait for kins of a writer that waits for the rebuild.
CREATE FUNCTION ledger.gate_key(p_organisation uuid) RETURNS bigint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN hashtextextended(p_organisation::text, 6963);

-- Let the writers at work finish, and let no other begin until the transaction ends.
CREATE FUNCTION ledger.stop_writers(p_organisation uuid) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock(ledger.gate_key(p_organisation));
    PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
END
$$;

CREATE TYPE ledger.drawn AS (last_seq bigint, moment timestamptz);

-- Draw so many numbers and the next moment; the caller holds the lock. `p_context` is the place among those numbers of
-- the last context event, null without one.
CREATE FUNCTION ledger.draw(p_organisation uuid, p_count bigint, p_context bigint) RETURNS ledger.drawn
    LANGUAGE plpgsql AS $$
DECLARE
    v_drawn ledger.drawn;
BEGIN
    UPDATE ledger.head h
    SET last_seq = h.last_seq + p_count,
        last_recorded_at = greatest(h.last_recorded_at + interval '1 microsecond', clock_timestamp()),
        context_seq = greatest(h.context_seq, h.last_seq + p_context)
    WHERE h.organisation = p_organisation
    RETURNING h.last_seq, h.last_recorded_at INTO STRICT v_drawn;
    RETURN v_drawn;
END
$$;

CREATE TYPE ledger.entered AS (
    now timestamptz, head_seq bigint, head_recorded_at timestamptz, context_seq bigint, ended uuid[],
    anything_waits boolean);

COMMENT ON TYPE ledger.entered IS 'Where the log stands, which of the keys have ended, and whether any message waits.';

-- Name the transaction's organisation, and say at once what every decision begins with. Alone it waits until the
-- writers at work are done, and keeps others out: what is decided then cannot become stale.
CREATE FUNCTION ledger.enter(p_organisation uuid, p_keys uuid[], p_now timestamptz, p_alone boolean)
    RETURNS SETOF ledger.entered
    LANGUAGE plpgsql
    SET enable_seqscan = off SET plan_cache_mode = force_generic_plan
AS $$
BEGIN
    PERFORM set_config('ledger.organisation', p_organisation::text, true);
    IF p_alone THEN
        PERFORM pg_advisory_xact_lock(ledger.gate_key(p_organisation));
    END IF;
    RETURN QUERY
    SELECT greatest(h.last_recorded_at, clock_timestamp() - interval '1 microsecond'), h.last_seq, h.last_recorded_at,
        h.context_seq,
        ARRAY (
            SELECT k.id FROM ledger.api_key k
            WHERE k.organisation = p_organisation AND k.id = ANY (p_keys)
                AND (k.revoked_at IS NOT NULL OR k.expires_at <= p_now)),
        EXISTS (
            SELECT FROM ledger.rejected_message r
            WHERE r.organisation = p_organisation AND r.state = 'open' AND r.waiting_for <> '{}')
    FROM ledger.head h WHERE h.organisation = p_organisation;
END
$$;
