"""Old tables brought into a visit: understood by a layout, shown, and then written as its reading table.

bring          Files read by one layout: readings, what is left out, what the table states itself, questions
preview        What was understood and what was not, in lines to read
write_brought  The reading table of a visit from what was brought; the numbers as they were typed

Nothing is written before a person has seen what was understood. Each row of the table that is written names the cell
that it comes from, and the table names the files with their sums.
"""
