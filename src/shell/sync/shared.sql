-- The shared record of a shop. Like the record on each machine it only ever grows; see 001-jobs.sql and 003-shop.sql there
-- for what the hashes are made from. Only personal words are ever removed.

CREATE TABLE IF NOT EXISTS leadhand_layout (version integer NOT NULL);
INSERT INTO leadhand_layout SELECT 1 WHERE NOT EXISTS (SELECT 1 FROM leadhand_layout);

CREATE TABLE IF NOT EXISTS leadhand_site (
    uid  bytea PRIMARY KEY CHECK (length(uid) = 16),
    name text  NOT NULL
);

CREATE TABLE IF NOT EXISTS leadhand_job (
    site           bytea    NOT NULL REFERENCES leadhand_site (uid),
    number         integer  NOT NULL CHECK (number > 0),
    opened_ms      bigint   NOT NULL,
    offset_minutes smallint NOT NULL,
    previous       bytea    NOT NULL CHECK (length(previous) = 32),
    hash           bytea    NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (site, number)
);

CREATE TABLE IF NOT EXISTS leadhand_entry (
    site   bytea   NOT NULL,
    job    integer NOT NULL,
    number integer NOT NULL CHECK (number > 0),
    body   text    NOT NULL,
    hash   bytea   NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (site, job, number),
    FOREIGN KEY (site, job) REFERENCES leadhand_job (site, number)
);

CREATE TABLE IF NOT EXISTS leadhand_personal (
    site  bytea    NOT NULL,
    job   integer  NOT NULL,
    entry integer  NOT NULL,
    slot  smallint NOT NULL,
    field text     NOT NULL,
    salt  bytea    NOT NULL CHECK (length(salt) = 16),
    words text     NOT NULL,
    PRIMARY KEY (site, job, entry, slot),
    FOREIGN KEY (site, job, entry) REFERENCES leadhand_entry (site, job, number)
);

CREATE OR REPLACE FUNCTION leadhand_stays() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the record is only ever added to'; END $$;

CREATE OR REPLACE TRIGGER leadhand_job_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON leadhand_job
    FOR EACH STATEMENT EXECUTE FUNCTION leadhand_stays();
CREATE OR REPLACE TRIGGER leadhand_entry_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON leadhand_entry
    FOR EACH STATEMENT EXECUTE FUNCTION leadhand_stays();
