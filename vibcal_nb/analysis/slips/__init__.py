"""Slips of writing: readings that a person may have written down wrongly, each as a question, never as a change.

One mechanism for `check`, for the entry at the shaker and for the finder of faults.

- ``find_slips``: the questions of whole tables (`find_slips`), and those of one new reading (`question_reading`)
- ``slip``, ``slip_kinds``: what a slip is; the case as it would be with the slip undone
- ``blocks``, ``plateau``, ``band_curve``, ``expectation``: what a channel's other readings lead one to expect
- ``row_slips``, ``neighbour_slips``, ``frequency_slips``, ``block_slips``: what may have been meant instead
- ``known_factors``: the factors of the trade; ``question``: the sentences
"""
