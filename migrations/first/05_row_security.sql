-- A transaction sees and writes one organisation: the one of its setting ledger.organisation, and without it none.
-- After a commit the setting is '' and not null. The sub-select is read once a statement, not once a row.

DO $$
DECLARE
    v_table text;
BEGIN
    FOR v_table IN
        SELECT c.relname
        FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'organisation' AND NOT a.attisdropped
        WHERE c.relnamespace = 'ledger'::regnamespace AND c.relkind = 'r'
    LOOP
        EXECUTE format('ALTER TABLE ledger.%I ENABLE ROW LEVEL SECURITY', v_table);
        EXECUTE format('ALTER TABLE ledger.%I FORCE ROW LEVEL SECURITY', v_table);
        EXECUTE format(
            'CREATE POLICY own_organisation ON ledger.%I'
            ' USING (organisation = (SELECT nullif(current_setting(''ledger.organisation'', true), '''')::uuid))',
            v_table);
    END LOOP;
END
$$;

-- The owner alone looks across organisations: to list them, to find whose key was presented, and which webhooks are to
-- be served.
CREATE POLICY owner_lists ON ledger.organisation FOR SELECT TO CURRENT_USER USING (true);
CREATE POLICY owner_authenticates ON ledger.api_key FOR SELECT TO CURRENT_USER USING (true);
CREATE POLICY owner_serves ON ledger.webhook FOR SELECT TO CURRENT_USER USING (true);
