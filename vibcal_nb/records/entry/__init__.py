"""Readings kept as they are taken: none that was acknowledged is lost, whatever happens next.

journal      What was entered, line by line, on the disk before anything else is done
journals     All journals of a visit together: which rows its table must hold, and what was changed in them
keys         What tells one row of a reading table from another, however a spreadsheet writes its numbers
merge        The table as it stands and the journals brought together; what was missing or changed is told
open_table   The visit's table as a file: who has it open, whether it can be written to, a workbook put into CSV
others       Who else is entering readings into the visit
table_text   A table's text: rows are added and single cells changed, all else stays byte for byte
visit_head   What the visit's file wants, asked for once and put into it
visit_table  The visit's reading table while readings are entered: enter, change, settle

A reading goes to the journal first, then into the table, and only then is it acknowledged. Whoever opens the visit
brings the table into line with all journals. So a program killed between the two loses nothing, and a spreadsheet
that saves an older table over the newer one loses nothing either. A journal belongs to one program and is written by
no other; the table is written under a lock, and taken anew from the disk each time.
"""
