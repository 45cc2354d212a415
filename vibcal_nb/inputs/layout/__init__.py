"""A table that is laid out otherwise to rows of the reading table, with an account of every number in it.

read_layout     [table] of visit.toml, or a layout file, to a layout; every wrong entry is noted, the rest still used
headings        Which column of a sheet each heading of a layout names
laid_out        The rows of a file as its layout makes them out, with the cells that they come from
lay_out         Sheets and a layout to rows
part_columns    What each column of one table of a sheet is
part_rows       The rows of one table of a sheet
account         Every number of the file: a reading, something named as left out with the reason, or a problem
visit_layout    How the reading table of a visit is laid out: [columns], [table], or a shared layout file
day             The day that a table states, however it is written

Nothing is guessed silently. A proposal is a file that a person reads; `lay_out` follows a layout to the letter. A
heading that no entry names is a problem wherever numbers stand below it.
"""
