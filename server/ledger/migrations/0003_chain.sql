-- Each entry is chained to all before it, so that none can be changed, left out or put in unseen; `chain.rs` says how.
-- Entries from before this step have no link of their own; the first link after them covers them.
ALTER TABLE event ADD COLUMN link BLOB CHECK (length(link) = 32);

-- What the ledger says of itself.
CREATE TABLE state (
  one          INTEGER PRIMARY KEY CHECK (one = 1),
  -- Whether a host has it open, or went down without closing it: its -wal and its -mark belong to it then.
  is_open      INTEGER NOT NULL,
  -- How far it had come when a host last closed it.
  seq          INTEGER NOT NULL,
  link         BLOB    CHECK (length(link) = 32),
  -- From which entry on it is chained.
  chained_from INTEGER NOT NULL,
  -- The first entry once more: without it no other can be understood.
  first        TEXT
) STRICT;

INSERT INTO state (one, is_open, seq, chained_from, first)
SELECT 1, 0, coalesce(max(seq), 0), coalesce(max(seq), 0) + 1, (SELECT body FROM event WHERE seq = 1) FROM event;
