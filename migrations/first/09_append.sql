-- The append: many independent events with an outcome each, and what they mean for the kins they touch, in one call.
--
-- An id that another call takes between steps 2 and 5 violates event_id_once, and everything is undone.
--
-- Order of locks, the same for everyone: the gate, kin rows by name, the organisation's lock, the counter row. So seq
-- grows in the order of commit, and nobody waits in a circle.

CREATE TYPE ledger.new_entry AS (
    id uuid, kind text, kind_version smallint, instant timestamptz, on_day date, by_ref text, site text, device text,
    device_seq bigint, received_at timestamptz, sent_at timestamptz, key uuid, imported boolean, body bytea,
    conflicts bytea, kin integer, context boolean);
CREATE TYPE ledger.new_subject AS (place integer, subject text, instant timestamptz);
CREATE TYPE ledger.new_text AS (place integer, event uuid, path text, key bytea, text text);
CREATE TYPE ledger.outcome AS (id uuid, outcome text, seq bigint, recorded_at timestamptz, refused boolean);

COMMENT ON TYPE ledger.new_entry IS '`kin` is the place of the event''s own kin in the call, from one; null has none.';
COMMENT ON TYPE ledger.outcome IS '`refused`: an open message names the event, which was not to be accepted before.';
COMMENT ON TYPE ledger.new_subject IS '`place` counts the entries of the call from one; so in new_text.';

-- Refuse decisions that did not know what has been recorded since; the caller holds the organisation's lock.
CREATE FUNCTION ledger.demand_current(
    p_organisation uuid, p_context_seq bigint, p_known_seq bigint, p_known_at timestamptz, p_refs text[],
    p_supplied text[], p_counted ledger.new_entry[], p_kins ledger.new_kin[], p_tags ledger.new_tag[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
DECLARE
    v_context_seq bigint;
    v_last_seq bigint;
    v_moment timestamptz;
BEGIN
    SELECT h.context_seq, h.last_seq, h.last_recorded_at INTO v_context_seq, v_last_seq, v_moment
    FROM ledger.head h WHERE h.organisation = p_organisation;
    IF v_context_seq IS NULL THEN
        RAISE EXCEPTION 'there is no organisation %', p_organisation USING ERRCODE = '42501';
    END IF;
    IF v_context_seq <> p_context_seq THEN
        RAISE EXCEPTION 'decided at context %, now at %', p_context_seq, v_context_seq
            USING ERRCODE = 'LG001', DETAIL = 'context';
    END IF;
    IF p_refs <> '{}' AND EXISTS (
        SELECT FROM ledger.dependency d
        WHERE d.organisation = p_organisation AND d.ref = ANY (p_refs)
            AND d.kin NOT IN (SELECT k.kin FROM unnest(p_kins) k))
    THEN
        RAISE EXCEPTION 'a kin has come to hang on what changes' USING ERRCODE = 'LG001', DETAIL = 'dependents';
    END IF;
    -- What came since is read first and by itself: a join from the devices would read all that each of them ever said.
    IF p_counted <> '{}' AND v_last_seq > p_known_seq AND EXISTS (
        WITH since AS MATERIALIZED (
            SELECT v.device, v.device_seq, v.instant FROM ledger.event v
            WHERE v.organisation = p_organisation AND v.seq > p_known_seq AND v.device_seq IS NOT NULL)
        SELECT FROM since v JOIN unnest(p_counted) e ON e.device = v.device
        WHERE v.device_seq < e.device_seq AND v.instant > e.instant
            OR v.device_seq > e.device_seq AND v.instant < e.instant)
    THEN
        RAISE EXCEPTION 'a device has spoken against its counter since' USING ERRCODE = 'LG001', DETAIL = 'device';
    END IF;
    IF v_moment > p_known_at AND EXISTS (
        SELECT FROM unnest(p_tags) t JOIN ledger.failure_report f ON f.organisation = p_organisation AND f.tag = t.tag
        WHERE f.recorded_at > p_known_at OR f.settled_at > p_known_at)
    THEN
        RAISE EXCEPTION 'a failure has been reported since' USING ERRCODE = 'LG001', DETAIL = 'reports';
    END IF;
    IF v_moment > p_known_at AND EXISTS (
        SELECT FROM ledger.rejected_message r
        WHERE r.organisation = p_organisation AND r.state = 'open' AND r.waiting_for <> '{}'
            AND r.waiting_for && p_supplied AND r.waits_since > p_known_at)
    THEN
        RAISE EXCEPTION 'a message has come to wait for what is recorded' USING ERRCODE = 'LG001', DETAIL = 'waiting';
    END IF;
END
$$;

CREATE FUNCTION ledger.append(
    p_organisation uuid, p_context_seq bigint, p_known_seq bigint, p_known_at timestamptz, p_refs text[],
    p_supplied text[], p_entries ledger.new_entry[], p_subjects ledger.new_subject[], p_texts ledger.new_text[],
    p_kins ledger.new_kin[], p_tags ledger.new_tag[], p_absorbed ledger.new_absorbed[], p_units ledger.new_unit[],
    p_intervals ledger.new_interval[], p_uses ledger.new_use[], p_findings ledger.new_finding[],
    p_stays ledger.new_stay[],
    p_dependencies ledger.new_dependency[], p_marks ledger.new_mark[]
) RETURNS SETOF ledger.outcome
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    -- The plans of a session outlive the day its tables were empty: look rows up by index from the first call on.
    SET enable_seqscan = off SET enable_hashjoin = off SET enable_mergejoin = off
    SET plan_cache_mode = force_generic_plan
AS $$
#variable_conflict use_column
DECLARE
    v_fresh boolean[] := '{}';    -- by kin: at the expected version, and none of its own events taken
    v_taken bigint[];             -- by entry: the seq of an event of that id, 0 without
    v_nth bigint[];               -- by entry: its number among those to record, 0 is not recorded
    v_count bigint;
    v_counted ledger.new_entry[];  -- those with a device's own number
    v_has_context boolean;
    v_waits boolean;
    v_drawn ledger.drawn;
BEGIN
    PERFORM ledger.demand(p_organisation);
    IF cardinality(p_entries) = 0 THEN
        RAISE EXCEPTION 'nothing to append' USING ERRCODE = '22023';
    END IF;

    PERFORM pg_advisory_xact_lock_shared(ledger.gate_key(p_organisation));

    -- 1. Lock the kins; which are as the decisions knew them?
    IF p_kins <> '{}' THEN
        v_fresh := ledger.lock_kins(p_organisation, p_kins, p_tags, p_absorbed);
    END IF;

    -- 2. A taken id spoils its kin: the rest was decided without it.
    v_taken := ARRAY (
        SELECT coalesce((SELECT v.seq FROM ledger.event v WHERE v.organisation = p_organisation AND v.id = e.id), 0)
        FROM unnest(p_entries) WITH ORDINALITY e ORDER BY e.ordinality);
    SELECT coalesce(bool_or(e.context), false),
        coalesce(array_agg(e::ledger.new_entry) FILTER (WHERE e.device_seq IS NOT NULL), '{}')
    INTO v_has_context, v_counted FROM unnest(p_entries) e;
    IF false = ANY (v_fresh) OR 0 < ANY (v_taken) THEN
        v_fresh := ledger.spoil(v_fresh, v_taken, p_entries);
        -- What is written because of another's event, or judged by what the call changes, is written with it or not.
        v_waits := (false = ANY (v_fresh) AND (v_has_context OR p_refs <> '{}'))
            OR EXISTS (SELECT FROM unnest(p_kins) k WHERE k.owed);
        IF v_waits THEN
            v_fresh := array_fill(false, ARRAY [cardinality(p_kins)]);
        END IF;
        PERFORM ledger.drop_empty_kins(p_organisation, v_fresh, p_kins);
        v_nth := ARRAY (
            SELECT CASE WHEN n.goes THEN count(*) FILTER (WHERE n.goes) OVER (ORDER BY n.ordinality) ELSE 0 END
            FROM (SELECT e.ordinality, NOT v_waits AND v_taken[e.ordinality] = 0 AND (e.kin IS NULL OR v_fresh[e.kin])
                      AS goes
                  FROM unnest(p_entries) WITH ORDINALITY e) n
            ORDER BY n.ordinality);
        v_count := (SELECT max(n) FROM unnest(v_nth) n);
    ELSE
        v_count := cardinality(p_entries);
        v_nth := ARRAY (SELECT generate_series(1, v_count));
    END IF;
    IF v_count > 0 THEN
        -- 3. What is derived.
        IF true = ANY (v_fresh) THEN
            PERFORM ledger.write_kins(p_organisation, v_fresh, p_kins, p_tags, p_absorbed, p_units, p_intervals, p_uses,
                p_findings, p_stays, p_dependencies, p_marks);
        END IF;

        -- 4. From here on one writer an organisation; each statement sees what all before it committed.
        -- If we fall silent before the commit, the others have it back before they give up.
        PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
        PERFORM set_config('idle_in_transaction_session_timeout', '5s', true);
        PERFORM ledger.demand_current(p_organisation, p_context_seq, p_known_seq, p_known_at, p_refs, p_supplied, v_counted,
            p_kins, p_tags);

        -- 5. The counter, last; one moment for the whole call.
        v_drawn := ledger.draw(p_organisation, v_count, CASE WHEN v_has_context THEN (
            SELECT max(v_nth[e.ordinality]) FROM unnest(p_entries) WITH ORDINALITY e
            WHERE e.context AND v_nth[e.ordinality] > 0) END);
        PERFORM ledger.write_entries(p_organisation, v_drawn.last_seq - v_count, v_drawn.moment, v_nth, p_entries,
            p_subjects, p_texts);
        PERFORM ledger.analyze_when_grown(v_drawn.last_seq - v_count, v_drawn.last_seq);
        IF p_kins <> '{}' THEN
            UPDATE ledger.kin s SET version = ledger.microseconds(v_drawn.moment), snapshot = k.snapshot
            FROM unnest(p_kins) WITH ORDINALITY k
            WHERE v_fresh[k.ordinality] AND s.organisation = p_organisation AND s.kin = k.kin;
        END IF;
        IF v_has_context THEN
            UPDATE ledger.generation g SET rules_to = h.context_seq
            FROM ledger.head h WHERE h.organisation = p_organisation AND g.organisation = p_organisation;
        END IF;
    END IF;

    RETURN QUERY
    SELECT e.id,
        CASE WHEN v_taken[e.ordinality] > 0 THEN 'taken' WHEN v_nth[e.ordinality] > 0 THEN 'recorded' ELSE 'stale' END,
        CASE WHEN v_taken[e.ordinality] > 0 THEN v_taken[e.ordinality]
             WHEN v_nth[e.ordinality] > 0 THEN v_drawn.last_seq - v_count + v_nth[e.ordinality] END,
        CASE WHEN v_taken[e.ordinality] > 0
             THEN (SELECT v.recorded_at FROM ledger.event v
                   WHERE v.organisation = p_organisation AND v.seq = v_taken[e.ordinality])
             WHEN v_nth[e.ordinality] > 0 THEN v_drawn.moment END,
        EXISTS (
            SELECT FROM ledger.rejected_message r
            WHERE r.organisation = p_organisation AND r.event = e.id AND r.state = 'open')
    FROM unnest(p_entries) WITH ORDINALITY e ORDER BY e.ordinality;
END
$$;

-- Mark the kins of taken entries as not fresh.
CREATE FUNCTION ledger.spoil(p_fresh boolean[], p_taken bigint[], p_entries ledger.new_entry[]) RETURNS boolean[]
    LANGUAGE plpgsql AS $$
DECLARE
    v_fresh boolean[] := p_fresh;
    v_place integer;
BEGIN
    FOR v_place IN
        SELECT e.kin FROM unnest(p_entries) WITH ORDINALITY e WHERE p_taken[e.ordinality] > 0 AND e.kin IS NOT NULL
    LOOP
        v_fresh[v_place] := false;
    END LOOP;
    RETURN v_fresh;
END
$$;

-- Look again at how big the tables are when a log has grown to eight times its size, as long as it is small. Plans that
-- sessions made for empty tables would outlive the first thousand events: autovacuum comes by once a minute.
CREATE FUNCTION ledger.analyze_when_grown(p_before bigint, p_after bigint) RETURNS void
    LANGUAGE plpgsql AS $$
BEGIN
    IF (p_before < 64 AND p_after >= 64) OR (p_before < 512 AND p_after >= 512)
        OR (p_before < 4096 AND p_after >= 4096) OR (p_before < 32768 AND p_after >= 32768)
    THEN
        ANALYZE (SKIP_LOCKED) ledger.event, ledger.event_subject, ledger.kinship, ledger.kin, ledger.unit,
            ledger.standing_interval, ledger.use_made, ledger.finding, ledger.dependency, ledger.free_text;
    END IF;
END
$$;

CREATE FUNCTION ledger.write_entries(
    p_organisation uuid, p_base bigint, p_recorded_at timestamptz, p_nth bigint[],
    p_entries ledger.new_entry[], p_subjects ledger.new_subject[], p_texts ledger.new_text[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    INSERT INTO ledger.event (
        organisation, seq, id, kind, kind_version, instant, on_day, by_ref, site, device, device_seq, received_at,
        recorded_at, sent_at, key, imported, body, leaf, conflicts)
    SELECT p_organisation, p_base + p_nth[e.ordinality], e.id, e.kind, e.kind_version, e.instant, e.on_day, e.by_ref,
        e.site, e.device, e.device_seq, e.received_at, p_recorded_at, e.sent_at, e.key, e.imported, e.body,
        ledger.leaf(p_organisation, p_base + p_nth[e.ordinality], p_recorded_at, e.received_at, e.sent_at, e.key,
            e.kind_version, e.imported, e.body),
        e.conflicts
    FROM unnest(p_entries) WITH ORDINALITY e WHERE p_nth[e.ordinality] > 0;

    INSERT INTO ledger.event_subject (organisation, subject, instant, seq)
    SELECT p_organisation, s.subject, s.instant, p_base + p_nth[s.place]
    FROM unnest(p_subjects) s WHERE p_nth[s.place] > 0;

    IF p_texts <> '{}' THEN
        INSERT INTO ledger.free_text (organisation, event, path, key, text)
        SELECT p_organisation, t.event, t.path, t.key, t.text
        FROM unnest(p_texts) t WHERE p_nth[t.place] > 0;
    END IF;
END
$$;
