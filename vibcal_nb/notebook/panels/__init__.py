"""What-if controls where a person is at the notebook.

fault_panel  Finding a fault by hand: pick a channel, touch its readings beside what explains them
layout_panel  A layout corrected by choices, with the table beside it
review_panel The reviewer's desk: the queue, the record that is chosen, the decision on it, by keyboard
site_form    Forms in which a person describes an asset's channels and kinds, beside a sketch
site_panel   Sorting and filtering of a site's matrix, where a person is at the notebook
what_if      What-if panels: a result under a person's finger
"""
