-- Rows of the log never change, whoever asks: the triggers fire for the owner too, and in replica mode.
-- What no trigger stops (switching it off, editing files, an older backup) verification finds.

CREATE FUNCTION ledger.refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the log is append-only: % on %', TG_OP, TG_TABLE_NAME USING ERRCODE = '55000';
END
$$;

CREATE TRIGGER event_rows_never_change BEFORE UPDATE OR DELETE ON ledger.event
    FOR EACH ROW EXECUTE FUNCTION ledger.refuse_change();
CREATE TRIGGER event_never_changes BEFORE UPDATE OR DELETE OR TRUNCATE ON ledger.event
    FOR EACH STATEMENT EXECUTE FUNCTION ledger.refuse_change();
ALTER TABLE ledger.event ENABLE ALWAYS TRIGGER event_rows_never_change;
ALTER TABLE ledger.event ENABLE ALWAYS TRIGGER event_never_changes;

CREATE FUNCTION ledger.refuse_going_back() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.organisation <> OLD.organisation
        OR NEW.last_seq < OLD.last_seq
        OR NEW.last_recorded_at < OLD.last_recorded_at
        OR NEW.context_seq < OLD.context_seq
    THEN
        RAISE EXCEPTION 'the head of the log never goes back' USING ERRCODE = '55000';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER head_never_goes_back BEFORE UPDATE ON ledger.head
    FOR EACH ROW EXECUTE FUNCTION ledger.refuse_going_back();
CREATE TRIGGER head_stays BEFORE DELETE OR TRUNCATE ON ledger.head
    FOR EACH STATEMENT EXECUTE FUNCTION ledger.refuse_change();
ALTER TABLE ledger.head ENABLE ALWAYS TRIGGER head_never_goes_back;
ALTER TABLE ledger.head ENABLE ALWAYS TRIGGER head_stays;
