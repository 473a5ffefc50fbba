-- Messages that could not be accepted, and the reports of failures among them.

-- Look again at how big the table is when it has grown to eight times what is known, as long as it is small. What a
-- session planned for an empty table reads all of it for every message, and a kiosk gone wild is faster than autovacuum,
-- which comes by once a minute.
CREATE FUNCTION ledger.analyze_rejected_when_grown() RETURNS void
    LANGUAGE plpgsql AS $$
DECLARE
    v_now bigint := pg_relation_size('ledger.rejected_message') / current_setting('block_size')::bigint;
    v_known bigint;
BEGIN
    IF v_now BETWEEN 8 AND 4096 THEN
        SELECT c.relpages INTO v_known FROM pg_class c WHERE c.oid = 'ledger.rejected_message'::regclass;
        IF v_now >= 8 * greatest(v_known, 1) THEN
            ANALYZE (SKIP_LOCKED) ledger.rejected_message;
        END IF;
    END IF;
END
$$;

-- Keep a message; the same body by the same key is the same message, counted. The problem told is the latest one.
-- With p_fields those are kept in the place of the body. Without room the body is not kept, and of other messages than
-- reports of failures nothing. r_kept says what is: whole, fields, report, nothing, erased; r_more, whether it is more
-- than before.
CREATE FUNCTION ledger.reject(
    p_organisation uuid, p_key uuid, p_role text, p_sites text[], p_received_at timestamptz, p_sent_at timestamptz,
    p_imported boolean, p_body bytea, p_fields text[], p_event uuid, p_kind text, p_tag text, p_site text,
    p_device text, p_device_seq bigint, p_adverse boolean, p_status smallint, p_problem bytea, p_waiting_for text[], p_room boolean,
    OUT r_id uuid, OUT r_kept text, OUT r_more boolean
)
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    SET enable_seqscan = off SET plan_cache_mode = force_generic_plan
AS $$
DECLARE
    v_report boolean := p_adverse AND p_tag IS NOT NULL;
    v_body bytea := CASE WHEN p_room AND p_fields IS NULL THEN p_body END;
    v_moment timestamptz;
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
    -- What was not kept for want of room is kept when it comes again; what was erased is not.
    SELECT r.kept = 'report' AND r.state = 'open' AND v_body IS NOT NULL
    INTO r_more
    FROM ledger.rejected_message r
    WHERE r.organisation = p_organisation AND r.key = p_key AND r.body_hash = sha256(p_body);
    IF FOUND THEN
        -- Whoever supplies what it comes to wait for has to see that it does.
        IF p_waiting_for <> '{}' THEN
            v_moment := (ledger.draw(p_organisation, 0, NULL)).moment;
        END IF;
        UPDATE ledger.rejected_message r
        SET count = r.count + 1,
            last_received_at = greatest(r.last_received_at, p_received_at),
            body = CASE WHEN r_more THEN v_body ELSE r.body END,
            status = CASE WHEN r.state = 'open' THEN p_status ELSE r.status END,
            problem = CASE WHEN r.state = 'open' AND r.erased_at IS NULL THEN p_problem ELSE r.problem END,
            -- What waits goes on waiting, whatever else the same body is refused for when it comes again.
            waiting_for = CASE WHEN r.state = 'open' AND p_waiting_for <> '{}' THEN p_waiting_for ELSE r.waiting_for END,
            waits_since = coalesce(v_moment, r.waits_since)
        WHERE r.organisation = p_organisation AND r.key = p_key AND r.body_hash = sha256(p_body)
        RETURNING r.id, r.kept INTO r_id, r_kept;
        RETURN;
    END IF;

    r_more := p_room OR v_report;
    IF NOT r_more THEN
        r_kept := 'nothing';
        RETURN;
    END IF;
    r_id := gen_random_uuid();
    v_moment := (ledger.draw(p_organisation, 0, NULL)).moment;
    INSERT INTO ledger.rejected_message AS r (
        organisation, id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, body,
        body_hash, fields, event, kind, tag, site, device, device_seq, adverse, status, problem, waiting_for, waits_since)
    VALUES (p_organisation, r_id, p_key, p_role, p_sites, p_received_at, p_received_at, v_moment, p_sent_at, p_imported,
        v_body, sha256(p_body), p_fields, p_event, p_kind, p_tag, p_site, p_device, p_device_seq, p_adverse, p_status,
        p_problem, p_waiting_for, CASE WHEN p_waiting_for <> '{}' THEN v_moment END)
    RETURNING r.kept INTO r_kept;
    PERFORM ledger.analyze_rejected_when_grown();
    IF v_report THEN
        INSERT INTO ledger.failure_report (organisation, id, tag, key, received_at, recorded_at, sent_at)
        VALUES (p_organisation, r_id, p_tag, p_key, p_received_at, v_moment, p_sent_at);
    END IF;
END
$$;

-- Settle an open message and the report of its failure; false if it is not open. One that was accepted ends with the
-- event it became, at the same moment.
CREATE FUNCTION ledger.settle(
    p_organisation uuid, p_id uuid, p_state text, p_by text, p_key uuid, p_reason text, p_accepted_seq bigint
) RETURNS boolean
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    SET enable_seqscan = off SET plan_cache_mode = force_generic_plan
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

-- What is left of the problem of an erased message: its code, none of its words. No JSON function is asked: they choke on
-- an escaped NUL, which a sender may have sent.
CREATE FUNCTION ledger.bare_problem(p_problem bytea) RETURNS bytea
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN convert_to(
    format('{"code":"%s","detail":"The message was erased."}',
        substring(convert_from(p_problem, 'UTF8') FROM '^\{"code":"([a-z-]+)"')),
    'UTF8');
