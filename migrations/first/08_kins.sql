-- Kins: locking them in one order, and writing what was derived for them.

CREATE TYPE ledger.new_kin AS (
    kin text, expected bigint, owed boolean, keeps_dependencies boolean, snapshot bytea, marks_from timestamptz,
    marks_until timestamptz);
CREATE TYPE ledger.new_tag AS (place integer, kin text, tag text);
CREATE TYPE ledger.new_absorbed AS (place integer, kin text, absorbed text, version bigint);
CREATE TYPE ledger.new_unit AS (
    place integer, kin text, unit uuid, tag text, site text, model text, phase text, standing text,
    in_scope boolean, do_not_use boolean, card bytea, outlook bytea, next_uses text,
    next_covered integer, next_sound integer, next_until timestamptz, rewrite_from timestamptz,
    uses_from timestamptz, findings_from timestamptz, rewrite_until timestamptz, uses_until timestamptz,
    findings_until timestamptz, stays_from timestamptz, stays_until timestamptz);
CREATE TYPE ledger.new_interval AS (
    place integer, unit uuid, since timestamptz, until timestamptz, site text, model text, phase text,
    in_scope boolean, standing text, do_not_use boolean, rules bytea);
CREATE TYPE ledger.new_use AS (
    place integer, unit uuid, at timestamptz, site text, lapse timestamptz, ref uuid, person text, worn boolean,
    counted boolean, forbidden text, ends timestamptz, known_by text, day timestamptz);
CREATE TYPE ledger.new_finding AS (
    place integer, unit uuid, at timestamptz, report text, event uuid, site text, person text, reasons text);
CREATE TYPE ledger.new_stay AS (
    place integer, unit uuid, "position" text, since timestamptz, until timestamptz, item text, lot text, told bytea);
CREATE TYPE ledger.new_dependency AS (place integer, kin text, ref text);
CREATE TYPE ledger.new_mark AS (place integer, kin text, at timestamptz, state bytea);

COMMENT ON TYPE ledger.new_kin IS
    'A kin to write. `owed`: no event of the call is its own, it is written because of another''s.';
COMMENT ON TYPE ledger.new_tag IS '`place` counts the kins of the call from one, here and in the types below.';

-- Lock the kins and those they absorb in the order of their names, making rows for new ones, and say which are fresh:
-- at the version that was expected, and with tags that nobody else has taken meanwhile.
CREATE FUNCTION ledger.lock_kins(
    p_organisation uuid, p_kins ledger.new_kin[], p_tags ledger.new_tag[], p_absorbed ledger.new_absorbed[]
) RETURNS boolean[] LANGUAGE plpgsql AS $$
#variable_conflict use_column
DECLARE
    v_absorbed text[] := ARRAY (SELECT a.absorbed FROM unnest(p_absorbed) a);
    v_wanted text[] := ARRAY (SELECT k.kin FROM unnest(p_kins) k) || v_absorbed;
    v_unfit integer[];
BEGIN
    INSERT INTO ledger.kin (organisation, kin, version, snapshot)
    SELECT p_organisation, k.kin, 0, '' FROM unnest(p_kins) k WHERE k.expected = 0 ORDER BY k.kin COLLATE "C"
    ON CONFLICT ON CONSTRAINT kin_pk DO NOTHING;

    PERFORM FROM ledger.kin s
    WHERE s.organisation = p_organisation AND s.kin = ANY (v_wanted)
    ORDER BY s.kin FOR UPDATE;

    v_unfit := ARRAY (
        SELECT a.place FROM unnest(p_absorbed) a
        WHERE a.version IS DISTINCT FROM
            (SELECT s.version FROM ledger.kin s WHERE s.organisation = p_organisation AND s.kin = a.absorbed)
        UNION ALL
        SELECT t.place FROM unnest(p_tags) t JOIN ledger.kinship h ON h.organisation = p_organisation AND h.tag = t.tag
        WHERE h.kin <> t.kin AND h.kin <> ALL (v_absorbed));

    RETURN ARRAY (
        SELECT k.ordinality <> ALL (v_unfit) AND coalesce(k.expected =
            (SELECT s.version FROM ledger.kin s WHERE s.organisation = p_organisation AND s.kin = k.kin), false)
        FROM unnest(p_kins) WITH ORDINALITY k ORDER BY k.ordinality);
END
$$;

-- Take away the empty rows that were made to be locked, of kins that will not be written.
CREATE FUNCTION ledger.drop_empty_kins(p_organisation uuid, p_fresh boolean[], p_kins ledger.new_kin[]) RETURNS void
    LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    DELETE FROM ledger.kin s USING unnest(p_kins) WITH ORDINALITY k
    WHERE NOT p_fresh[k.ordinality] AND s.organisation = p_organisation AND s.kin = k.kin AND s.version = 0;
END
$$;

-- Write everything derived for the fresh kins but their own rows, which get their version under the counter's lock.
CREATE FUNCTION ledger.write_kins(
    p_organisation uuid, p_fresh boolean[], p_kins ledger.new_kin[], p_tags ledger.new_tag[],
    p_absorbed ledger.new_absorbed[], p_units ledger.new_unit[], p_intervals ledger.new_interval[],
    p_uses ledger.new_use[], p_findings ledger.new_finding[], p_stays ledger.new_stay[],
    p_dependencies ledger.new_dependency[], p_marks ledger.new_mark[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    PERFORM ledger.write_kinship(p_organisation, p_fresh, p_tags, p_absorbed);
    PERFORM ledger.write_units(p_organisation, p_fresh, p_kins, p_absorbed, p_units);
    PERFORM ledger.write_intervals(p_organisation, p_fresh, p_units, p_intervals);
    PERFORM ledger.write_uses(p_organisation, p_fresh, p_units, p_uses);
    PERFORM ledger.write_findings(p_organisation, p_fresh, p_units, p_findings);
    PERFORM ledger.write_stays(p_organisation, p_fresh, p_units, p_stays);
    PERFORM ledger.write_dependencies(p_organisation, p_fresh, p_kins, p_dependencies);
    PERFORM ledger.write_marks(p_organisation, p_fresh, p_kins, p_marks);
END
$$;

-- Repoint the tags of absorbed kins, whose rows go, and add the new ones.
CREATE FUNCTION ledger.write_kinship(
    p_organisation uuid, p_fresh boolean[], p_tags ledger.new_tag[], p_absorbed ledger.new_absorbed[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
DECLARE
    v_absorbed text[] := ARRAY (SELECT a.absorbed FROM unnest(p_absorbed) a WHERE p_fresh[a.place]);
    v_lost text;
BEGIN
    IF v_absorbed <> '{}' THEN
        UPDATE ledger.kinship h SET kin = a.kin
        FROM unnest(p_absorbed) a
        WHERE p_fresh[a.place] AND h.organisation = p_organisation AND h.kin = a.absorbed;
        DELETE FROM ledger.dependency d WHERE d.organisation = p_organisation AND d.kin = ANY (v_absorbed);
        DELETE FROM ledger.fold_mark m WHERE m.organisation = p_organisation AND m.kin = ANY (v_absorbed);
        DELETE FROM ledger.kin s WHERE s.organisation = p_organisation AND s.kin = ANY (v_absorbed);
    END IF;
    -- A tag that another kin took since the kins were locked comes back as the other's: it was not to be had.
    WITH claimed AS (
        INSERT INTO ledger.kinship AS h (organisation, tag, kin)
        SELECT p_organisation, t.tag, t.kin FROM unnest(p_tags) t WHERE p_fresh[t.place] ORDER BY t.tag COLLATE "C"
        ON CONFLICT ON CONSTRAINT kinship_pk DO UPDATE SET kin = h.kin WHERE h.kin <> excluded.kin
        RETURNING h.tag, h.kin
    )
    SELECT c.tag INTO v_lost FROM claimed c WHERE (c.tag, c.kin) NOT IN (SELECT t.tag, t.kin FROM unnest(p_tags) t);
    IF FOUND THEN
        RAISE EXCEPTION 'tag % has come to another kin', v_lost USING ERRCODE = 'LG001', DETAIL = 'tags';
    END IF;
END
$$;

-- Put the units of the fresh kins in place; a unit of theirs, or of one they absorb, that is not named any more goes.
CREATE FUNCTION ledger.write_units(
    p_organisation uuid, p_fresh boolean[], p_kins ledger.new_kin[], p_absorbed ledger.new_absorbed[],
    p_units ledger.new_unit[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
DECLARE
    v_kins text[] := ARRAY (
        SELECT k.kin FROM unnest(p_kins) WITH ORDINALITY k WHERE p_fresh[k.ordinality]
        UNION ALL SELECT a.absorbed FROM unnest(p_absorbed) a WHERE p_fresh[a.place]);
    v_gone uuid[] := ARRAY (
        SELECT u.unit FROM ledger.unit u
        WHERE u.organisation = p_organisation AND u.kin = ANY (v_kins)
            AND u.unit NOT IN (SELECT n.unit FROM unnest(p_units) n WHERE p_fresh[n.place]));
BEGIN
    IF v_gone <> '{}' THEN
        DELETE FROM ledger.standing_interval i WHERE i.organisation = p_organisation AND i.unit = ANY (v_gone);
        DELETE FROM ledger.use_made m WHERE m.organisation = p_organisation AND m.unit = ANY (v_gone);
        DELETE FROM ledger.finding f WHERE f.organisation = p_organisation AND f.unit = ANY (v_gone);
        DELETE FROM ledger.stay s WHERE s.organisation = p_organisation AND s.unit = ANY (v_gone);
        DELETE FROM ledger.unit u WHERE u.organisation = p_organisation AND u.unit = ANY (v_gone);
    END IF;
    INSERT INTO ledger.unit (
        organisation, unit, kin, tag, site, model, phase, standing, in_scope, do_not_use, card, outlook,
        next_uses, next_covered, next_sound, next_until)
    SELECT p_organisation, n.unit, n.kin, n.tag, n.site, n.model, n.phase, n.standing, n.in_scope, n.do_not_use,
        n.card, n.outlook, n.next_uses::timestamptz[], n.next_covered, n.next_sound, n.next_until
    FROM unnest(p_units) n WHERE p_fresh[n.place] ORDER BY n.unit
    ON CONFLICT ON CONSTRAINT unit_pk DO UPDATE SET
        kin = excluded.kin, tag = excluded.tag, site = excluded.site, model = excluded.model, phase = excluded.phase,
        standing = excluded.standing, in_scope = excluded.in_scope, do_not_use = excluded.do_not_use,
        card = excluded.card, outlook = excluded.outlook, next_uses = excluded.next_uses,
        next_covered = excluded.next_covered, next_sound = excluded.next_sound, next_until = excluded.next_until;
END
$$;

-- From `rewrite_from` on a unit's intervals are those given; one that reaches over it is cut there. What begins at or
-- after `rewrite_until` stays as it is, here and in what follows. No bound is null: under row security an index is only
-- asked for what is ready before, and so no bound is worked out here, either.
CREATE FUNCTION ledger.write_intervals(
    p_organisation uuid, p_fresh boolean[], p_units ledger.new_unit[], p_intervals ledger.new_interval[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    DELETE FROM ledger.standing_interval i USING unnest(p_units) n
    WHERE p_fresh[n.place] AND i.organisation = p_organisation AND i.unit = n.unit
        AND i.since >= n.rewrite_from AND i.since < n.rewrite_until;
    UPDATE ledger.standing_interval i SET until = n.rewrite_from
    FROM unnest(p_units) n
    CROSS JOIN LATERAL (
        SELECT x.since FROM ledger.standing_interval x
        WHERE x.organisation = p_organisation AND x.unit = n.unit AND x.since < n.rewrite_from
        ORDER BY x.since DESC LIMIT 1) before
    WHERE p_fresh[n.place] AND i.organisation = p_organisation AND i.unit = n.unit AND i.since = before.since
        AND i.until > n.rewrite_from;
    INSERT INTO ledger.standing_interval (
        organisation, unit, since, until, site, model, phase, in_scope, standing, do_not_use, rules)
    SELECT p_organisation, n.unit, n.since, n.until, n.site, n.model, n.phase, n.in_scope, n.standing, n.do_not_use,
        n.rules
    FROM unnest(p_intervals) n WHERE p_fresh[n.place] ORDER BY n.since;
END
$$;

-- From `uses_from` on a unit's uses are those given.
CREATE FUNCTION ledger.write_uses(
    p_organisation uuid, p_fresh boolean[], p_units ledger.new_unit[], p_uses ledger.new_use[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    DELETE FROM ledger.use_made m USING unnest(p_units) n
    WHERE p_fresh[n.place] AND m.organisation = p_organisation AND m.unit = n.unit
        AND m.at >= n.uses_from AND m.at < n.uses_until;
    IF p_uses <> '{}' THEN
        INSERT INTO ledger.use_made (
            organisation, unit, at, ref, site, lapse, person, ends, worn, counted, forbidden, known_by, day)
        SELECT p_organisation, n.unit, n.at, n.ref, n.site, n.lapse, n.person, n.ends, n.worn, n.counted, n.forbidden,
            n.known_by, n.day
        FROM unnest(p_uses) n WHERE p_fresh[n.place] ORDER BY n.at;
    END IF;
END
$$;

-- From `findings_from` on a unit's findings are those given; the far future only adds some.
CREATE FUNCTION ledger.write_findings(
    p_organisation uuid, p_fresh boolean[], p_units ledger.new_unit[], p_findings ledger.new_finding[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    -- Of one unit that was folded on, as most often, there is nothing to look for.
    IF cardinality(p_units) > 1 OR (p_units[1]).findings_from < '9999-01-01Z' THEN
        DELETE FROM ledger.finding f USING unnest(p_units) n
        WHERE p_fresh[n.place] AND f.organisation = p_organisation AND f.unit = n.unit
            AND f.at >= n.findings_from AND f.at < n.findings_until;
    END IF;
    IF p_findings <> '{}' THEN
        INSERT INTO ledger.finding (organisation, unit, at, report, event, site, person, reasons)
        SELECT p_organisation, n.unit, n.at, n.report, n.event, n.site, n.person, n.reasons
        FROM unnest(p_findings) n WHERE p_fresh[n.place] ORDER BY n.at;
    END IF;
END
$$;

-- A unit's stays that began after `stays_from` are those given, beside those that did not and go on; the far
-- future only adds some. Those that last beyond `stays_until` stay as they are. One that ends as it begins is none.
CREATE FUNCTION ledger.write_stays(
    p_organisation uuid, p_fresh boolean[], p_units ledger.new_unit[], p_stays ledger.new_stay[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    -- Of units that were folded on, as most are, there is nothing to look for.
    IF EXISTS (SELECT FROM unnest(p_units) n WHERE n.stays_from < '9999-01-01Z') THEN
        DELETE FROM ledger.stay s USING unnest(p_units) n
        WHERE p_fresh[n.place] AND s.organisation = p_organisation AND s.unit = n.unit
            AND s.since > n.stays_from AND s.until <= n.stays_until;
    END IF;
    IF p_stays <> '{}' THEN
        IF EXISTS (SELECT FROM unnest(p_stays) n WHERE n.until = n.since) THEN
            DELETE FROM ledger.stay s USING unnest(p_stays) n
            WHERE p_fresh[n.place] AND n.until = n.since AND s.organisation = p_organisation AND s.unit = n.unit
                AND s.position = n.position AND s.since = n.since;
        END IF;
        INSERT INTO ledger.stay (organisation, unit, position, since, until, item, lot, told)
        SELECT p_organisation, n.unit, n.position, n.since, n.until, n.item, n.lot, n.told
        FROM unnest(p_stays) n WHERE p_fresh[n.place] AND n.until > n.since ORDER BY n.since
        ON CONFLICT ON CONSTRAINT stay_pk DO UPDATE SET
            until = excluded.until, item = excluded.item, lot = excluded.lot, told = excluded.told;
    END IF;
END
$$;

CREATE FUNCTION ledger.write_dependencies(
    p_organisation uuid, p_fresh boolean[], p_kins ledger.new_kin[], p_dependencies ledger.new_dependency[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    DELETE FROM ledger.dependency d USING unnest(p_kins) WITH ORDINALITY k
    WHERE p_fresh[k.ordinality] AND NOT k.keeps_dependencies AND d.organisation = p_organisation AND d.kin = k.kin
        AND (d.kin, d.ref) NOT IN (SELECT n.kin, n.ref FROM unnest(p_dependencies) n);
    IF p_dependencies <> '{}' THEN
        INSERT INTO ledger.dependency (organisation, kin, ref)
        SELECT p_organisation, n.kin, n.ref FROM unnest(p_dependencies) n WHERE p_fresh[n.place]
        ORDER BY n.kin COLLATE "C", n.ref COLLATE "C"
        ON CONFLICT ON CONSTRAINT dependency_pk DO NOTHING;
    END IF;
END
$$;

-- From `marks_from` on a kin's marks are those given; the far future only adds some.
CREATE FUNCTION ledger.write_marks(
    p_organisation uuid, p_fresh boolean[], p_kins ledger.new_kin[], p_marks ledger.new_mark[]
) RETURNS void LANGUAGE plpgsql AS $$
#variable_conflict use_column
BEGIN
    -- Of kins that were folded on, as most are, there is nothing to look for.
    IF EXISTS (SELECT FROM unnest(p_kins) k WHERE k.marks_from < '9999-01-01Z') THEN
        DELETE FROM ledger.fold_mark m USING unnest(p_kins) WITH ORDINALITY k
        WHERE p_fresh[k.ordinality] AND m.organisation = p_organisation AND m.kin = k.kin
            AND m.at >= k.marks_from AND m.at < k.marks_until;
    END IF;
    IF p_marks <> '{}' THEN
        INSERT INTO ledger.fold_mark (organisation, kin, at, state)
        SELECT p_organisation, n.kin, n.at, n.state FROM unnest(p_marks) n WHERE p_fresh[n.place]
        ORDER BY n.kin COLLATE "C", n.at;
    END IF;
END
$$;
