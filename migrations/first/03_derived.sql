-- What the log means, as last computed. Every row here can be thrown away and written again from the log.

CREATE TABLE ledger.event_subject (
    organisation uuid        NOT NULL,
    subject      text        COLLATE "C" NOT NULL,
    instant      timestamptz NOT NULL,
    seq          bigint      NOT NULL,
    CONSTRAINT event_subject_pk PRIMARY KEY (organisation, subject, instant, seq)
);

CREATE INDEX event_subject_seq ON ledger.event_subject (organisation, seq);

CREATE TABLE ledger.kinship (
    organisation uuid NOT NULL,
    tag          text COLLATE "C" NOT NULL,
    kin          text COLLATE "C" NOT NULL,
    CONSTRAINT kinship_pk PRIMARY KEY (organisation, tag)
);

COMMENT ON TABLE ledger.kinship IS
    'Tags whose histories hang together share a kin, named by the smallest: what is folded and versioned as one.';

CREATE INDEX kinship_kin ON ledger.kinship (organisation, kin);

CREATE TABLE ledger.kin (
    organisation uuid   NOT NULL,
    kin          text   COLLATE "C" NOT NULL,
    version      bigint NOT NULL,
    snapshot     bytea  NOT NULL,
    CONSTRAINT kin_pk PRIMARY KEY (organisation, kin)
) WITH (fillfactor = 80);

COMMENT ON COLUMN ledger.kin.version IS
    'The moment this row was written, in microseconds: never the same twice. Whoever decides names the one it knew.';

CREATE TABLE ledger.fold_mark (
    organisation uuid        NOT NULL,
    kin          text        COLLATE "C" NOT NULL,
    at           timestamptz NOT NULL,
    state        bytea       NOT NULL,
    CONSTRAINT fold_mark_pk PRIMARY KEY (organisation, kin, at)
);

COMMENT ON TABLE ledger.fold_mark IS
    'Places on the way of a long fold: what comes late is folded from the newest before it, not from the beginning.';
COMMENT ON COLUMN ledger.fold_mark.at IS 'The last instant that was folded; what follows is later.';

CREATE TABLE ledger.unit (
    organisation uuid    NOT NULL,
    unit         uuid    NOT NULL,
    kin          text    COLLATE "C" NOT NULL,
    tag          text    COLLATE "C" NOT NULL,
    site         text    COLLATE "C" NOT NULL,
    model        text    COLLATE "C" NOT NULL,
    phase        text    COLLATE "C" NOT NULL,
    standing     text    COLLATE "C" NOT NULL,
    in_scope     boolean NOT NULL,
    do_not_use   boolean NOT NULL,
    card         bytea   NOT NULL,
    outlook      bytea   NOT NULL,
    next_uses    timestamptz[] NOT NULL,
    next_covered integer NOT NULL,
    next_sound   integer NOT NULL,
    next_until   timestamptz NOT NULL,
    CONSTRAINT unit_pk PRIMARY KEY (organisation, unit)
) WITH (fillfactor = 80);

COMMENT ON COLUMN ledger.unit.next_uses IS
    'The uses that time makes of it before next_until, if nothing happens; a check covers the first next_covered, and
     nothing else is against the first next_sound of those.';

CREATE INDEX unit_kin ON ledger.unit (organisation, kin);
CREATE INDEX unit_tag ON ledger.unit (organisation, tag, unit);

-- How long an interval is, in steps of four: under 1, 4, 16 ... hours; 10 is 4^9 hours (30 years) or more, or open.
-- Whoever asks which intervals hold at a moment looks, a step at a time, only as far back as that step reaches.
CREATE FUNCTION ledger.span(p_since timestamptz, p_until timestamptz) RETURNS smallint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN CASE
    WHEN p_until = 'infinity' THEN 10
    ELSE width_bucket(
        extract(epoch FROM p_until - p_since) / 3600,
        ARRAY [1, 4, 16, 64, 256, 1024, 4096, 16384, 65536, 262144]::numeric[])
END;

CREATE TABLE ledger.standing_interval (
    organisation uuid        NOT NULL,
    unit         uuid        NOT NULL,
    since        timestamptz NOT NULL,
    until        timestamptz NOT NULL,
    span         smallint    NOT NULL GENERATED ALWAYS AS (ledger.span(since, until)) STORED,
    site         text        COLLATE "C" NOT NULL,
    model        text        COLLATE "C" NOT NULL,
    phase        text        COLLATE "C" NOT NULL,
    in_scope     boolean     NOT NULL,
    standing     text        COLLATE "C" NOT NULL,
    do_not_use   boolean     NOT NULL,
    rules        bytea       NOT NULL,
    CONSTRAINT standing_interval_pk PRIMARY KEY (organisation, unit, since),
    CONSTRAINT standing_interval_forward CHECK (until > since)
);

COMMENT ON TABLE ledger.standing_interval IS
    'Half-open spans of overall standing, added in order of time: those of a moment are a short read of neighbours.';

CREATE INDEX standing_interval_stab ON ledger.standing_interval (organisation, span, since);
CREATE INDEX standing_interval_away ON ledger.standing_interval (organisation, unit, since) INCLUDE (until)
    WHERE phase = 'quarantined' AND NOT in_scope;

CREATE TABLE ledger.use_made (
    organisation uuid        NOT NULL,
    unit         uuid        NOT NULL,
    at           timestamptz NOT NULL,
    ref          uuid        NOT NULL,
    site         text        COLLATE "C" NOT NULL,
    lapse        timestamptz,
    person       text        COLLATE "C",
    ends         timestamptz,
    worn         boolean     NOT NULL,
    counted      boolean     NOT NULL,
    forbidden    text        COLLATE "C",
    known_by     text        COLLATE "C",
    day          timestamptz,
    CONSTRAINT use_made_pk PRIMARY KEY (organisation, unit, at, ref) INCLUDE (worn, site, person, ends, known_by, day)
);

COMMENT ON CONSTRAINT use_made_pk ON ledger.use_made IS
    'A unit''s uses lie all over the table: who wore it when the index tells alone.';

COMMENT ON COLUMN ledger.use_made.lapse IS
    'From when on no check covers the use: its beginning, or a moment within it; NULL for never.';

COMMENT ON COLUMN ledger.use_made.ref IS
    'Names the use for good: the event of a wearing (`worn`), else what its unit, site, day and shift make.';
COMMENT ON COLUMN ledger.use_made.forbidden IS
    'Why the unit was not to be used as the use began, in words joined by commas, but for the want of a check.';

COMMENT ON COLUMN ledger.use_made.known_by IS
    'The kind of the event that tells of a wearing; NULL for a use by the calendar.';

COMMENT ON COLUMN ledger.use_made.day IS
    'The other end of the day of a wearing that states its day alone: it counts at one end; NULL for any other.';

CREATE INDEX use_made_site ON ledger.use_made (organisation, site, at) INCLUDE (lapse) WHERE counted;
CREATE INDEX use_made_long ON ledger.use_made (organisation, unit, ends)
    INCLUDE (at, ref, site, person, known_by, day) WHERE worn AND ends - at > interval '48 hours';

COMMENT ON INDEX ledger.use_made_long IS
    'The few wearings that were said to last for more than two days.';

CREATE INDEX use_made_uncovered ON ledger.use_made (organisation, lapse, ref) WHERE lapse IS NOT NULL;
CREATE INDEX use_made_forbidden ON ledger.use_made (organisation, at, ref) WHERE forbidden IS NOT NULL;

CREATE TABLE ledger.finding (
    organisation uuid        NOT NULL,
    unit         uuid        NOT NULL,
    at           timestamptz NOT NULL,
    report       text        COLLATE "C" NOT NULL,
    event        uuid        NOT NULL,
    site         text        COLLATE "C" NOT NULL,
    person       text        COLLATE "C" NOT NULL,
    reasons      text        COLLATE "C" NOT NULL,
    CONSTRAINT finding_pk PRIMARY KEY (organisation, unit, at, report, event)
);

COMMENT ON TABLE ledger.finding IS 'What the fold found of single events, by the exception report that lists it.';

CREATE INDEX finding_listed ON ledger.finding (organisation, report, at, event);

CREATE TABLE ledger.stay (
    organisation uuid        NOT NULL,
    unit         uuid        NOT NULL,
    position     text        COLLATE "C" NOT NULL,
    since        timestamptz NOT NULL,
    until        timestamptz NOT NULL,
    item         text        COLLATE "C",
    lot          text        COLLATE "C",
    told         bytea       NOT NULL,
    CONSTRAINT stay_pk PRIMARY KEY (organisation, unit, position, since),
    CONSTRAINT stay_forward CHECK (until > since)
);

COMMENT ON TABLE ledger.stay IS
    'Which part sat in which position of a unit, and who had the unit (no position), from when to when.';
COMMENT ON COLUMN ledger.stay.lot IS 'As lots are compared and ordered, not as it is written.';

CREATE INDEX stay_item ON ledger.stay (organisation, item, lot) WHERE item IS NOT NULL;

-- What the exception reports list of units, whichever table says it; `words` are joined by commas.
CREATE VIEW ledger.exception WITH (security_invoker = true) AS
SELECT organisation, 'used-without-check'::text COLLATE "C" AS report, ref, unit, lapse AS at, site, person, worn,
    'used-without-check'::text COLLATE "C" AS words
FROM ledger.use_made WHERE lapse IS NOT NULL
UNION ALL
SELECT organisation, 'used-while-not-to-be-used', ref, unit, at, site, person, worn, forbidden
FROM ledger.use_made WHERE forbidden IS NOT NULL
UNION ALL
SELECT organisation, report, event, unit, at, site, person, true, reasons
FROM ledger.finding;

CREATE TABLE ledger.dependency (
    organisation uuid NOT NULL,
    kin          text COLLATE "C" NOT NULL,
    ref          text COLLATE "C" NOT NULL,
    CONSTRAINT dependency_pk PRIMARY KEY (organisation, kin, ref)
);

COMMENT ON TABLE ledger.dependency IS
    'What each kin''s judgement asked for, found or not: who is judged again when it changes.';

CREATE INDEX dependency_ref ON ledger.dependency (organisation, ref, kin);

CREATE TABLE ledger.generation (
    organisation   uuid    NOT NULL,
    generation     integer NOT NULL,
    rules_to       bigint  NOT NULL,
    code_version   text    NOT NULL,
    tzdata_version text    NOT NULL,
    CONSTRAINT generation_pk PRIMARY KEY (organisation, generation)
);

COMMENT ON TABLE ledger.generation IS 'Which rules, code and time zones the derived rows were judged with.';
