"""Words, numbers and tables.

chip             A verdict as a chip: its mark and word on a ground of their own, so that they read on light, on dark
exchanges        What was exchanged, in words: the part with both items
failure_signals  A loop's failure signal in words: it is named first, and is no small reading
findings         What is said of a result, and how failures come first in it
judged_values    A judged reading's value as it is written in tables and sentences: with its U, to the same place
names            Names of tests and conditions as sentences have them, and how items are listed and counted
numbers          Numbers, units and names as they are written in sentences, tables and on axes
table            A table as it is shown: headings with units, text cells, struck-through rows, verdict marks
tolerances       A tolerance in words, in every form in which the trade writes one
"""
