"""What a record states that it was made from, and what changed since.

changes          What changed between two statements: row by row, from what to what
encoding         What the model states as JSON, and back: frozen dataclasses, units, dates, by their types
present          What the inputs hold now, in the form in which records state what they were made from
record_inputs    The statement of one record: its own visit, the earlier ones it used, like channels
row_changes      Rows of one block compared: which were corrected, added or taken out
row_lines        Readings as lines of text, and back: one line a reading
stated           A record performed again from what it states: its inputs given in place of the files
visit_statement  A visit as far as a record used it: channel, readings, equipment, what the visit says of itself

A record rests on what it used: its own rows, its channel's limits as they held on the day, the certificates of the
equipment that its rows name. The statement of that is made in the kernel from what was read, and kept in the record,
so that three questions have answers of their own. Does the record follow from what it states? Its notebook is executed
again on the statement, without the files. Do the inputs still hold what it states? The same statement is made of the
files as they are now; another channel's row, a comment or a new certificate change nothing in it. What has changed?
Both statements are compared row by row. Where in its table a row stood is stated, and is no change: rows put in above
move it. Drift asks of the channels that are alike only whether they stood within their tolerance; the statement holds
these answers in place of their rows.
"""
