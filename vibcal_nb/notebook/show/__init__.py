"""One call, one display.

show            What a notebook's cells call to show something: one call, one display
show_channel    What the cells of the channel verdict call to show something: one call, one display
show_compare    What the comparison's cells call to show something: one call, one display
show_drift      What the drift notebook's cells call to show something: one call, one display
show_old_tables  An old table as it stands, each cell with what it was taken for
show_life       What the channel history's cells call to show something: one call, one display
show_plan       A plan as tables and as a figure: the points, what stays out of reach, what the plan would find
show_review     What the review's cells call to show something: one call, one display
show_site       What the site overview's cells call to show something: one call, one display
show_waveforms  Readings from waveforms as a table and as figures: where the record is settled, and how the sines fit
"""
