"""Tables of any form as they stand in a file: sheets of cells, nothing understood yet.

grid            A sheet of cells with their addresses, as a spreadsheet names them
csv_grid        Text files: comma, semicolon or tab; UTF-8, UTF-16 or Windows-1252; blocks of heads above the table
workbook_grid   XLSX: every sheet, with what a number is shown as (a percentage, a date)
open_document   ODS, read from its content.xml as a stream
read_grids      A file to its sheets; bounds and refusals
first_table     The first sheet of an ODS file as the reading table

An ODS file is read by a small reader of our own. The general readers build the whole document in memory before a
bound can be set, and would be a further dependency; what is needed of the format is six elements and eight attributes
(OASIS Open Document Format 1.2, part 1, chapter 9 and clause 19.385). Document type declarations are refused, repeated
empty cells are never made, and what unpacks beyond a bound is not read on.
"""
