-- Questions that need more than a plain SELECT.

-- Find whose key was presented, before any organisation is known.
CREATE FUNCTION ledger.key_by_hash(p_secret_hash bytea) RETURNS SETOF ledger.api_key
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
BEGIN ATOMIC
    SELECT k.* FROM ledger.api_key k WHERE k.secret_hash = p_secret_hash;
END;

-- Find the webhooks that no process serves, of every organisation: whose they are, and nothing else of them.
CREATE FUNCTION ledger.webhooks_unserved() RETURNS TABLE (organisation uuid, webhook uuid)
    LANGUAGE sql STABLE SECURITY DEFINER
    SET search_path = pg_catalog, pg_temp
BEGIN ATOMIC
    SELECT w.organisation, w.id FROM ledger.webhook w
    WHERE w.state = 'active' AND (w.leased_until IS NULL OR w.leased_until <= clock_timestamp())
    ORDER BY w.created_at, w.id;
END;

-- The largest seq recorded at or before a moment, 0 before the first: recorded_at never goes back as seq grows, so the
-- place is found by halving and the log needs no index on time.
CREATE FUNCTION ledger.seq_known_at(p_organisation uuid, p_moment timestamptz) RETURNS bigint
    LANGUAGE plpgsql STABLE
    SET search_path = pg_catalog, pg_temp
AS $$
DECLARE
    v_known bigint := 0;
    v_above bigint := (SELECT h.last_seq + 1 FROM ledger.head h WHERE h.organisation = p_organisation);
    v_middle bigint;
    v_recorded_at timestamptz;
BEGIN
    WHILE v_above - v_known > 1 LOOP
        v_middle := (v_known + v_above) / 2;
        SELECT e.recorded_at INTO STRICT v_recorded_at FROM ledger.event e
        WHERE e.organisation = p_organisation AND e.seq = v_middle;
        IF v_recorded_at <= p_moment THEN
            v_known := v_middle;
        ELSE
            v_above := v_middle;
        END IF;
    END LOOP;
    RETURN v_known;
END
$$;

-- The intervals of standing that reach into [since, until), whole. How far back one can have begun depends on its
-- length alone: each step of length is a short read along its index (see `ledger.span`). OFFSET 0 keeps it so: the
-- planner would rather read the table through.
CREATE FUNCTION ledger.intervals_between(p_organisation uuid, p_since timestamptz, p_until timestamptz)
    RETURNS SETOF ledger.standing_interval
    LANGUAGE sql STABLE
BEGIN ATOMIC
    SELECT i.*
    FROM generate_series(0, 10) AS n (span)
        CROSS JOIN LATERAL (
            SELECT x.* FROM ledger.standing_interval x
            WHERE x.organisation = p_organisation AND x.span = n.span AND x.since < p_until
                AND x.since > CASE WHEN n.span = 10 THEN '-infinity'
                    ELSE p_since - make_interval(hours => (4 ^ n.span)::integer) END
                AND x.until > p_since OFFSET 0) i;
END;

-- Subjects that lie in stretches, as what they lie after and before: places behind beginnings, by the number of the group
-- that they belong to. A colon ends a beginning, and the semicolon is the next character; a tab ends a place, and the
-- new line is the next. Behind OFFSET 0 they are plain columns, as bounds have to be under row security.
CREATE FUNCTION ledger.stretches(
    p_places_of integer[], p_firsts text[], p_lasts text[], p_beginnings_of integer[], p_beginnings text[]
) RETURNS TABLE (after text, ending text)
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
AS $$
    SELECT b.beginning || p.first,
        CASE WHEN p.last IS NULL THEN left(b.beginning, -1) || ';' ELSE b.beginning || p.last || E'\n' END
    FROM unnest(p_places_of, p_firsts, p_lasts) p (number, first, last)
        JOIN unnest(p_beginnings_of, p_beginnings) b (number, beginning) USING (number)
    OFFSET 0
$$;
