-- Writing again what is derived, without any new event: after a change of code or time zones, and in a rebuild.

CREATE TYPE ledger.rewritten AS (kin text, written boolean, version bigint);

CREATE FUNCTION ledger.rewrite(
    p_organisation uuid, p_context_seq bigint,
    p_kins ledger.new_kin[], p_tags ledger.new_tag[], p_absorbed ledger.new_absorbed[], p_units ledger.new_unit[],
    p_intervals ledger.new_interval[], p_uses ledger.new_use[], p_findings ledger.new_finding[],
    p_stays ledger.new_stay[],
    p_dependencies ledger.new_dependency[], p_marks ledger.new_mark[]
) RETURNS SETOF ledger.rewritten
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
    SET enable_seqscan = off SET enable_hashjoin = off SET enable_mergejoin = off
    SET plan_cache_mode = force_generic_plan
AS $$
#variable_conflict use_column
DECLARE
    v_fresh boolean[];
    v_version bigint;
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock_shared(ledger.gate_key(p_organisation));
    v_fresh := ledger.lock_kins(p_organisation, p_kins, p_tags, p_absorbed);
    IF false = ANY (v_fresh) THEN
        PERFORM ledger.drop_empty_kins(p_organisation, v_fresh, p_kins);
    END IF;
    PERFORM ledger.write_kins(p_organisation, v_fresh, p_kins, p_tags, p_absorbed, p_units, p_intervals, p_uses,
        p_findings, p_stays, p_dependencies, p_marks);
    PERFORM pg_advisory_xact_lock(ledger.lock_key(p_organisation));
    PERFORM ledger.demand_current(p_organisation, p_context_seq, NULL, NULL, '{}', '{}', '{}', p_kins, p_tags);
    v_version := ledger.microseconds((ledger.draw(p_organisation, 0, NULL)).moment);
    UPDATE ledger.kin s SET version = v_version, snapshot = k.snapshot
    FROM unnest(p_kins) WITH ORDINALITY k
    WHERE v_fresh[k.ordinality] AND s.organisation = p_organisation AND s.kin = k.kin;
    RETURN QUERY
    SELECT k.kin, v_fresh[k.ordinality], CASE WHEN v_fresh[k.ordinality] THEN v_version END
    FROM unnest(p_kins) WITH ORDINALITY k ORDER BY k.ordinality;
END
$$;

-- Lock the kins of tags in the order of their names, before the organisation's lock, for a call that will rewrite them
-- after it has kept or settled what a unit of theirs is reported for.
CREATE FUNCTION ledger.lock_kins_of(p_organisation uuid, p_tags text[]) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    PERFORM pg_advisory_xact_lock_shared(ledger.gate_key(p_organisation));
    PERFORM FROM ledger.kin s
    WHERE s.organisation = p_organisation AND s.kin IN (
        SELECT h.kin FROM ledger.kinship h WHERE h.organisation = p_organisation AND h.tag = ANY (p_tags))
    ORDER BY s.kin FOR UPDATE;
END
$$;

-- Replace the subjects of the named events: a later event can show that an earlier one speaks of something else too.
CREATE FUNCTION ledger.write_subjects(
    p_organisation uuid, p_events bigint[], p_subjects text[], p_instants timestamptz[], p_seqs bigint[]
) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    DELETE FROM ledger.event_subject s WHERE s.organisation = p_organisation AND s.seq = ANY (p_events);
    INSERT INTO ledger.event_subject (organisation, subject, instant, seq)
    SELECT p_organisation, n.subject, n.instant, n.seq
    FROM unnest(p_subjects, p_instants, p_seqs) AS n (subject, instant, seq) WHERE n.seq = ANY (p_events);
END
$$;

-- Put the intervals into order of time on disk, as live writing leaves them: a rebuild writes them unit by unit.
CREATE FUNCTION ledger.sort_intervals(p_organisation uuid) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    WITH taken AS (
        DELETE FROM ledger.standing_interval i WHERE i.organisation = p_organisation RETURNING i.*
    )
    INSERT INTO ledger.standing_interval (
        organisation, unit, since, until, site, model, phase, in_scope, standing, do_not_use, rules)
    SELECT organisation, unit, since, until, site, model, phase, in_scope, standing, do_not_use, rules
    FROM taken ORDER BY since, unit;
END
$$;

CREATE FUNCTION ledger.wipe_derived(p_organisation uuid) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    DELETE FROM ledger.event_subject s WHERE s.organisation = p_organisation;
    DELETE FROM ledger.kinship h WHERE h.organisation = p_organisation;
    DELETE FROM ledger.kin k WHERE k.organisation = p_organisation;
    DELETE FROM ledger.fold_mark m WHERE m.organisation = p_organisation;
    DELETE FROM ledger.unit u WHERE u.organisation = p_organisation;
    DELETE FROM ledger.stay s WHERE s.organisation = p_organisation;
    DELETE FROM ledger.standing_interval i WHERE i.organisation = p_organisation;
    DELETE FROM ledger.use_made m WHERE m.organisation = p_organisation;
    DELETE FROM ledger.finding f WHERE f.organisation = p_organisation;
    DELETE FROM ledger.dependency d WHERE d.organisation = p_organisation;
    DELETE FROM ledger.generation g WHERE g.organisation = p_organisation;
END
$$;

CREATE FUNCTION ledger.set_generation(
    p_organisation uuid, p_generation integer, p_rules_to bigint, p_code_version text, p_tzdata_version text
) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
AS $$
BEGIN
    PERFORM ledger.demand(p_organisation);
    INSERT INTO ledger.generation (organisation, generation, rules_to, code_version, tzdata_version)
    VALUES (p_organisation, p_generation, p_rules_to, p_code_version, p_tzdata_version)
    ON CONFLICT ON CONSTRAINT generation_pk DO UPDATE SET
        rules_to = excluded.rules_to, code_version = excluded.code_version, tzdata_version = excluded.tzdata_version;
END
$$;
