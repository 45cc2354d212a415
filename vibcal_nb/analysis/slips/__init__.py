"""Slips of writing: readings that a person may have written down wrongly, each as a question, never as a change.

One mechanism for `check`, for the entry at the shaker and for the finder of faults.

- ``find_slips``: the questions of whole tables (`find_slips`), and those of one new reading (`question_reading`)
- ``slip``, ``slip_kinds``, ``question``: what a slip is, how it is asked about, the case with the slip undone
- ``expected``: what a channel's other readings lead one to expect
- ``row_slips``, ``neighbour_slips``, ``frequency_slips``, ``unit_slips``: what was meant in rows and runs
- ``block_slips``, ``planned_limits``: whole blocks, and the nominal sensitivity; what lies outside the planned limits
"""
