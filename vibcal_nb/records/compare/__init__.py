"""Two records held side by side: what differs between revisions, visits, conditions or channels.

comparison        What differs between two records: inputs, software, verdicts, gates, numbers, cells
other_readings    What records of other visits, conditions or channels were made from
leaves            Every number and word of a result by what it is of
number_changes    Numbers of two results beside one another, by what they are of, each change against its U
from_readings     What a record of a visit's readings would hold, where there is none yet
cell_changes      Cells that differ, the lines of their sources by nbdime's diff
overlay           The judged readings of two records in one figure
comparison_words  A comparison as lines of text
comparison_tables The numbers of a comparison as tables
comparison_page   A comparison as a page
"""
