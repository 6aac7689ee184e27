-- One line a job, for lists: worked out from the entries as they come, so that a list need not read them.
-- It can be dropped and made again from the entries at any time; it is no part of the chain.

CREATE TABLE summary (
    job       INTEGER PRIMARY KEY REFERENCES job (number),
    appliance TEXT,
    complaint TEXT,
    remedy    TEXT,                                           -- of the last advice
    cause     TEXT,                                           -- of the last advice
    finished  INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1)),
    entries   INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TRIGGER summary_of_job AFTER INSERT ON job
BEGIN
    INSERT INTO summary (job) VALUES (NEW.number);
END;

CREATE TRIGGER summary_of_entry AFTER INSERT ON entry
BEGIN
    UPDATE summary SET
        appliance = CASE NEW.body ->> 'what' WHEN 'machine' THEN NEW.body ->> 'appliance' ELSE appliance END,
        complaint = CASE NEW.body ->> 'what' WHEN 'complained' THEN NEW.body ->> 'complaint' ELSE complaint END,
        remedy    = CASE NEW.body ->> 'what' WHEN 'advised' THEN NEW.body ->> 'remedy' ELSE remedy END,
        cause     = CASE NEW.body ->> 'what' WHEN 'advised' THEN NEW.body ->> 'cause' ELSE cause END,
        finished  = CASE NEW.body ->> 'what' WHEN 'finished' THEN 1 ELSE finished END,
        entries   = NEW.number
    WHERE job = NEW.job;
END;

INSERT INTO summary (job, appliance, complaint, remedy, cause, finished, entries)
SELECT
    number,
    (SELECT body ->> 'appliance' FROM entry WHERE job = job.number AND body ->> 'what' = 'machine' ORDER BY number DESC LIMIT 1),
    (SELECT body ->> 'complaint' FROM entry WHERE job = job.number AND body ->> 'what' = 'complained' ORDER BY number DESC LIMIT 1),
    (SELECT body ->> 'remedy' FROM entry WHERE job = job.number AND body ->> 'what' = 'advised' ORDER BY number DESC LIMIT 1),
    (SELECT body ->> 'cause' FROM entry WHERE job = job.number AND body ->> 'what' = 'advised' ORDER BY number DESC LIMIT 1),
    EXISTS (SELECT 1 FROM entry WHERE job = job.number AND body ->> 'what' = 'finished'),
    (SELECT coalesce(max(number), 0) FROM entry WHERE job = job.number)
FROM job;

CREATE INDEX summary_by_appliance ON summary (appliance, job);
