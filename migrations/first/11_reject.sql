-- Messages that could not be accepted, and the reports of failures among them.

-- Keep a message; the same body by the same key is the same message, counted. The problem told is the latest one.
CREATE FUNCTION ledger.reject(
    p_organisation uuid, p_key uuid, p_role text, p_sites text[], p_received_at timestamptz, p_sent_at timestamptz,
    p_imported boolean, p_body bytea, p_event uuid, p_kind text, p_tag text, p_site text, p_adverse boolean,
    p_status smallint, p_problem bytea, p_waiting_for text[]
) RETURNS uuid
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
DECLARE
    v_id uuid;
    v_moment timestamptz;
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
    UPDATE ledger.rejected_message r
    SET count = r.count + 1,
        last_received_at = greatest(r.last_received_at, p_received_at),
        status = CASE WHEN r.state = 'open' THEN p_status ELSE r.status END,
        problem = CASE WHEN r.state = 'open' THEN p_problem ELSE r.problem END,
        waiting_for = CASE WHEN r.state = 'open' THEN p_waiting_for ELSE r.waiting_for END
    WHERE r.organisation = p_organisation AND r.key = p_key AND r.body_hash = sha256(p_body)
    RETURNING r.id INTO v_id;
    IF FOUND THEN
        RETURN v_id;
    END IF;

    v_id := gen_random_uuid();
    v_moment := (ledger.draw(p_organisation, 0, NULL)).moment;
    INSERT INTO ledger.rejected_message (
        organisation, id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, body,
        body_hash, event, kind, tag, site, adverse, status, problem, waiting_for)
    VALUES (p_organisation, v_id, p_key, p_role, p_sites, p_received_at, p_received_at, v_moment, p_sent_at, p_imported,
        p_body, sha256(p_body), p_event, p_kind, p_tag, p_site, p_adverse, p_status, p_problem, p_waiting_for);
    IF p_adverse AND p_tag IS NOT NULL THEN
        INSERT INTO ledger.failure_report (organisation, id, tag, key, received_at, recorded_at, sent_at)
        VALUES (p_organisation, v_id, p_tag, p_key, p_received_at, v_moment, p_sent_at);
    END IF;
    RETURN v_id;
END
$$;

-- Settle an open message and the report of its failure; false if it is not open. One that was accepted ends with the
-- event it became, at the same moment.
CREATE FUNCTION ledger.settle(
    p_organisation uuid, p_id uuid, p_state text, p_by text, p_key uuid, p_reason text, p_accepted_seq bigint
) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
DECLARE
    v_moment timestamptz;
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
    PERFORM FROM ledger.rejected_message r
    WHERE r.organisation = p_organisation AND r.id = p_id AND r.state = 'open' FOR UPDATE;
    IF NOT FOUND THEN
        RETURN false;
    END IF;
    IF p_accepted_seq IS NULL THEN
        v_moment := (ledger.draw(p_organisation, 0, NULL)).moment;
    ELSE
        SELECT v.recorded_at INTO STRICT v_moment FROM ledger.event v
        WHERE v.organisation = p_organisation AND v.seq = p_accepted_seq;
    END IF;
    UPDATE ledger.rejected_message r
    SET state = p_state, settled_at = v_moment, settled_by = p_by, settled_key = p_key, reason = p_reason,
        accepted_seq = p_accepted_seq
    WHERE r.organisation = p_organisation AND r.id = p_id;
    UPDATE ledger.failure_report f
    SET settled_at = v_moment, settled_by = p_by, settled_key = p_key, accepted_seq = p_accepted_seq
    WHERE f.organisation = p_organisation AND f.id = p_id AND f.settled_at IS NULL;
    RETURN true;
END
$$;
