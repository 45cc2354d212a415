"""The table to fill in, and rows appended to it.

append_readings     Readings added below a visit's reading table, in the table's own form
reading_sheet       A reading table to fill in, as XLSX or CSV: what comes back is read without editing
reading_sheet_rows  A plan as rows of a reading table that a person fills in: what is planned

A prepared sheet reads back as it is: remarks above the headings begin with ``#``, its own columns are read past, and a
row without an output is pending and no reading.
"""
