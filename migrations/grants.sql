-- What the serving role may do, the whole of it, said anew after every migration.
-- The role is named after the database, because roles belong to the whole cluster: <database>_app. It is made without
-- a login; a login is granted it, or it is given a password (service/migrating.py).

DO $$
DECLARE
    v_role text := current_database() || '_app';
BEGIN
    IF octet_length(v_role) > 63 THEN
        RAISE EXCEPTION 'the name of database % is too long to name a role after it', current_database();
    END IF;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = v_role) THEN
        EXECUTE format('CREATE ROLE %I NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS', v_role);
    END IF;

    EXECUTE format('REVOKE ALL ON ALL TABLES IN SCHEMA ledger FROM PUBLIC, %I', v_role);
    EXECUTE format('REVOKE ALL ON ALL FUNCTIONS IN SCHEMA ledger FROM PUBLIC, %I', v_role);
    EXECUTE format('GRANT USAGE ON SCHEMA ledger TO %I', v_role);

    -- Reads: everything of its organisation but the hashes of keys.
    EXECUTE format('GRANT SELECT ON ledger.head, ledger.event, ledger.organisation, ledger.person, ledger.free_text,'
        ' ledger.rejected_message, ledger.failure_report, ledger.event_subject, ledger.kinship, ledger.kin,'
        ' ledger.fold_mark,'
        ' ledger.unit, ledger.standing_interval, ledger.use_made, ledger.finding, ledger.stay, ledger.exception, ledger.dependency, ledger.generation,'
        ' ledger.alembic_version'
        ' TO %I', v_role);
    EXECUTE format('GRANT SELECT (organisation, id, name, role, sites, created_at, expires_at, revoked_at)'
        ' ON ledger.api_key TO %I', v_role);

    -- Keeps and erases names. Free text is erased by the owner alone.
    EXECUTE format('GRANT INSERT, UPDATE, DELETE ON ledger.person TO %I', v_role);

    -- Keeps the answers to requests that have a name, for as long as they are given again.
    EXECUTE format('GRANT SELECT, INSERT, UPDATE ON ledger.given_answer TO %I', v_role);

    -- Serves webhooks: what is sent, and what became of it.
    EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON ledger.webhook TO %I', v_role);
    EXECUTE format('GRANT SELECT, INSERT, UPDATE ON ledger.webhook_delivery TO %I', v_role);

    -- Everything else is written through these alone.
    EXECUTE format('GRANT EXECUTE ON FUNCTION ledger.enter, ledger.append, ledger.rewrite, ledger.lock_kins_of,'
        ' ledger.write_subjects, ledger.set_generation, ledger.reject, ledger.settle, ledger.key_by_hash,'
        ' ledger.seq_known_at, ledger.lock_key, ledger.gate_key, ledger.webhooks_unserved, ledger.stretches,'
        ' ledger.intervals_between'
        ' TO %I', v_role);
END
$$;
