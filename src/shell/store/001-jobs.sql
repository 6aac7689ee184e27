-- Jobs and their entries. Both only ever grow: nothing is changed or removed.
--
-- hash of a job   = SHA-256(previous, number, opened_at, offset_minutes); previous is the hash of the job before, or 32 zeros.
-- hash of an entry = SHA-256(previous, job, number, body); previous is the hash of the entry before, or the job's own.
-- Numbers go in as 8 bytes, largest first; the body as its UTF-8 bytes.

CREATE TABLE job (
    number         INTEGER PRIMARY KEY CHECK (number > 0),
    opened_at      INTEGER NOT NULL,                          -- milliseconds since 1970-01-01 00:00 UTC
    offset_minutes INTEGER NOT NULL,                          -- local clock ahead of UTC
    previous       BLOB    NOT NULL CHECK (length(previous) = 32),
    hash           BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE TABLE entry (
    job      INTEGER NOT NULL REFERENCES job (number),
    number   INTEGER NOT NULL CHECK (number > 0),             -- 1, 2, 3 … within the job
    body     TEXT    NOT NULL CHECK (json_valid(body)),       -- what happened, as JSON
    previous BLOB    NOT NULL CHECK (length(previous) = 32),
    hash     BLOB    NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER job_is_next BEFORE INSERT ON job
WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM job)
BEGIN
    SELECT raise(ABORT, 'a job takes the next number');
END;

CREATE TRIGGER job_stays BEFORE UPDATE ON job
BEGIN
    SELECT raise(ABORT, 'a job is never changed');
END;

CREATE TRIGGER job_is_kept BEFORE DELETE ON job
BEGIN
    SELECT raise(ABORT, 'a job is never removed');
END;

CREATE TRIGGER entry_is_next BEFORE INSERT ON entry
WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM entry WHERE job = NEW.job)
BEGIN
    SELECT raise(ABORT, 'an entry takes the next number');
END;

CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN
    SELECT raise(ABORT, 'an entry is never changed');
END;

CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry
BEGIN
    SELECT raise(ABORT, 'an entry is never removed');
END;
