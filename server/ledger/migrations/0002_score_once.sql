-- A score counts once: its id can't be written twice, whatever the program does.
CREATE UNIQUE INDEX score_once ON event (json_extract(body, '$.score.id')) WHERE kind = 'scored';
