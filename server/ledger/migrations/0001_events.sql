-- The ledger of one class: what happened, in order, never changed.
CREATE TABLE event (
  seq   INTEGER PRIMARY KEY CHECK (seq > 0),
  at_us INTEGER NOT NULL,
  kind  TEXT    NOT NULL,
  body  TEXT    NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;

CREATE TRIGGER event_is_never_removed BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
