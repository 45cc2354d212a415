"""The table to fill in, and rows appended to it.

append_readings     Readings added below a visit's reading table, in the table's own form
new_visit           The file of a visit that is planned: what is known of it, and what is to be filled in
paper_checks        The lines of the printed sheet for set points, votes and electrical items
paper_sheet         The sheet that is printed and filled in by hand: what is needed on site, in large type
reading_sheet       A reading table to fill in, as XLSX or CSV: what comes back is read without editing
reading_sheet_rows  A plan as rows of a reading table that a person fills in: what is planned
sheet_checks        Rows of set points, votes and electrical items in a workbook
sheet_limits        The limits beside each row of a sheet, as formulas that follow the level, the unit and the row
sheet_rules         What a workbook offers, asks and shows while a sheet is filled in

A prepared sheet reads back as it is: remarks above the headings begin with ``#``, its own columns are read past, and a
row without an output is pending and no reading.
"""
