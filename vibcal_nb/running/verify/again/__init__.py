"""A record performed again, and everything in it compared.

compare_cells    A record held against the same performed again: every cell, output, table, text and figure
compare_figures  Two figures held against each other by what they draw
compare_shown    Texts, tables and figures that two versions of libraries show, by what they say
made_again       Whether a record follows from what it states: its notebook executed again, everything compared
perform_again    The package's own notebook executed on what a record states that it was made from

Nothing that a record holds is executed: its parameters are values of the parameters that the package's own notebook
has, its inputs are read as data. By the same software in the same surroundings nothing may differ, but for a unit of
the last of eight digits of a result, which the order of a library's sums decides. In other surroundings numbers agree
to 1e-6 of their size, shown numbers to a unit of their last digit, figures in what they draw.
"""
