-- A shop of several technicians, personal data that can be removed, and words that can be searched.
--
-- A site is one technician's record: it numbers its own jobs 1, 2, 3 …; `job.number` is their number in this file only.
-- From here on the hashes of jobs and entries are made from the number at the site, which for jobs of this file that
-- are older than this step is the same.

CREATE TABLE site (
    id   INTEGER PRIMARY KEY,                                 -- 0 is this file itself
    uid  BLOB NOT NULL UNIQUE CHECK (length(uid) = 16),       -- made once, at random
    name TEXT NOT NULL DEFAULT ''
) STRICT;

INSERT INTO site (id, uid) VALUES (0, randomblob(16));

DROP TRIGGER job_is_next;
DROP TRIGGER job_stays;

ALTER TABLE job ADD COLUMN site INTEGER NOT NULL DEFAULT 0;
ALTER TABLE job ADD COLUMN site_number INTEGER NOT NULL DEFAULT 0;
UPDATE job SET site_number = number;

CREATE UNIQUE INDEX job_by_site ON job (site, site_number);
CREATE INDEX job_by_hash ON job (hash);

CREATE TRIGGER job_is_next BEFORE INSERT ON job
WHEN NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM job)
  OR NEW.site_number <> (SELECT coalesce(max(site_number), 0) + 1 FROM job WHERE site = NEW.site)
  OR NOT EXISTS (SELECT 1 FROM site WHERE id = NEW.site)
BEGIN
    SELECT raise(ABORT, 'a job takes the next number');
END;

CREATE TRIGGER job_stays BEFORE UPDATE ON job
BEGIN
    SELECT raise(ABORT, 'a job is never changed');
END;

-- Personal words stand here and not in the entry, which holds {"sealed": SHA-256(salt, words)} in their place. So they
-- can be removed and the chain stays whole; with the salt gone, nobody can try out names against the hash.

CREATE TABLE personal (
    job   INTEGER NOT NULL REFERENCES job (number),
    entry INTEGER NOT NULL,
    slot  INTEGER NOT NULL CHECK (slot BETWEEN 1 AND 7),      -- the how-manieth of its entry
    field TEXT    NOT NULL,                                   -- its key in the entry
    salt  BLOB    NOT NULL CHECK (length(salt) = 16),
    words TEXT    NOT NULL,
    PRIMARY KEY (job, entry, slot)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER personal_stays BEFORE UPDATE ON personal
BEGIN
    SELECT raise(ABORT, 'personal words are removed, never changed');
END;

-- The words of a job, to be searched. A row is job * 16777216 + entry * 8 + slot, slot 0 for the entry itself.

CREATE VIRTUAL TABLE words USING fts5 (
    text, content = '', contentless_delete = 1, tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3'
);
INSERT INTO words (words, rank) VALUES ('secure-delete', 1);

CREATE TRIGGER words_of_entry AFTER INSERT ON entry
WHEN NEW.body ->> 'what' IN ('machine', 'complained', 'advised', 'plate', 'part', 'noted', 'adjusted', 'ran')
BEGIN
    INSERT INTO words (rowid, text)
    SELECT (NEW.job << 24) | (NEW.number << 3), group_concat(atom, ' ')
    FROM json_each(NEW.body) WHERE type = 'text' AND key <> 'what';
END;

CREATE TRIGGER words_of_personal AFTER INSERT ON personal
BEGIN
    INSERT INTO words (rowid, text) VALUES ((NEW.job << 24) | (NEW.entry << 3) | NEW.slot, NEW.words);
END;

CREATE TRIGGER words_are_forgotten AFTER DELETE ON personal
BEGIN
    DELETE FROM words WHERE rowid = (OLD.job << 24) | (OLD.entry << 3) | OLD.slot;
END;

INSERT INTO words (rowid, text)
SELECT (job << 24) | (number << 3), (SELECT group_concat(atom, ' ') FROM json_each(body) WHERE type = 'text' AND key <> 'what')
FROM entry
WHERE body ->> 'what' IN ('machine', 'complained', 'advised', 'plate', 'part', 'noted', 'adjusted', 'ran');

-- More of what lists show. It can be made again from the entries at any time.

ALTER TABLE summary ADD COLUMN serial TEXT;
ALTER TABLE summary ADD COLUMN callback_of BLOB;              -- hash of the earlier job
ALTER TABLE summary ADD COLUMN fixed INTEGER;                 -- was the advised work done?
ALTER TABLE summary ADD COLUMN wrong_parts INTEGER NOT NULL DEFAULT 0;
ALTER TABLE summary ADD COLUMN took INTEGER NOT NULL DEFAULT 0; -- milliseconds from the first entry to the last

DROP TRIGGER summary_of_entry;

CREATE TRIGGER summary_of_entry AFTER INSERT ON entry
BEGIN
    UPDATE summary SET
        appliance   = CASE NEW.body ->> 'what' WHEN 'machine' THEN NEW.body ->> 'appliance' ELSE appliance END,
        complaint   = CASE NEW.body ->> 'what' WHEN 'complained' THEN NEW.body ->> 'complaint' ELSE complaint END,
        remedy      = CASE NEW.body ->> 'what' WHEN 'advised' THEN NEW.body ->> 'remedy' ELSE remedy END,
        cause       = CASE NEW.body ->> 'what' WHEN 'advised' THEN NEW.body ->> 'cause' ELSE cause END,
        finished    = CASE NEW.body ->> 'what' WHEN 'finished' THEN 1 ELSE finished END,
        serial      = CASE WHEN NEW.body ->> 'what' = 'plate' AND NEW.body ->> 'field' = 'serial' THEN NEW.body ->> 'value' ELSE serial END,
        callback_of = CASE NEW.body ->> 'what' WHEN 'called-back' THEN unhex(NEW.body ->> 'of') ELSE callback_of END,
        fixed       = CASE NEW.body ->> 'what' WHEN 'fixed' THEN NEW.body ->> 'done' ELSE fixed END,
        wrong_parts = wrong_parts + (NEW.body ->> 'what' = 'part' AND NOT (NEW.body ->> 'fitted')),
        took        = max(took, NEW.body ->> 'at'),
        entries     = NEW.number
    WHERE job = NEW.job;
END;

UPDATE summary SET
    fixed = (SELECT body ->> 'done' FROM entry WHERE entry.job = summary.job AND body ->> 'what' = 'fixed' ORDER BY number DESC LIMIT 1),
    took  = (SELECT coalesce(max(body ->> 'at'), 0) FROM entry WHERE entry.job = summary.job);

CREATE INDEX summary_by_state ON summary (finished, job);
CREATE INDEX summary_by_serial ON summary (serial, job) WHERE serial IS NOT NULL;
CREATE INDEX summary_by_callback ON summary (callback_of) WHERE callback_of IS NOT NULL;
CREATE INDEX summary_by_cause ON summary (cause, job);
