-- What is read back of a kept answer stands in columns of its own: its stacks, and the question with
-- slots by key, so that neither the form of the answer's JSON nor that of a command line is relied on.
-- An answer from before has no question that could be asked again.

ALTER TABLE answer ADD COLUMN question TEXT;

ALTER TABLE answer ADD COLUMN stacks TEXT;

-- The stacks of older answers are read out of their JSON, once; one that is damaged gets none.
DROP TRIGGER answer_stays_as_it_is;

UPDATE answer SET stacks = (
    WITH
    listed (place, stack) AS (
        SELECT key, value FROM json_each(answer.answer, '$.stacks')
        UNION ALL
        SELECT key, value FROM json_each(answer.answer, '$.nearest')
        WHERE json_array_length(answer.answer, '$.stacks') = 0
        UNION ALL
        SELECT 0, answer.answer WHERE answer.answer ->> 'stacks' IS NULL
    ),
    told (place, stack) AS (
        SELECT place, json_object(
            'grade', stack ->> 'grade',
            'parts', json((
                SELECT json_group_object(key, CASE type
                    WHEN 'array' THEN json(value) ELSE json_array(value) END)
                FROM json_each(stack, '$.parts') WHERE type <> 'null' AND value <> '[]')),
            'preload', stack ->> '$.preload.nm',
            'reserve', stack ->> '$.reserve.nm',
            'room', stack ->> '$.room.nm',
            'fails', json((
                SELECT json_group_array(value ->> 'check') FROM json_each(stack, '$.checks')
                WHERE value ->> 'result' = 'fail')))
        FROM listed ORDER BY place
    )
    SELECT json_object(
        'kind', iif(answer.answer ->> 'stacks' IS NULL, 'fit', 'ranking'),
        'landed', json(CASE
            WHEN answer.answer ->> 'stacks' IS NOT NULL
                THEN iif(json_array_length(answer.answer, '$.stacks') > 0, 'true', 'false')
            ELSE iif(answer.answer ->> 'grade' IN ('undecided', 'out'), 'false', 'true') END),
        'stacks', json((SELECT json_group_array(json(stack)) FROM told)))
)
WHERE json_valid(answer);

CREATE TRIGGER answer_stays_as_it_is BEFORE UPDATE ON answer
BEGIN SELECT RAISE (ABORT, 'a kept answer is never changed'); END;
