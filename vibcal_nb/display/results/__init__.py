"""What every kind of result shows: statements, tables, figures, verdicts.

budget            An uncertainty budget as a table
budget_plots      Figure of uncertainty budgets: the contributions as bars, one budget beside the other
figures           Whole figures of results, with alternative text that is computed from the result
not_shown         What a result does not show, so that a reader does not assume it
points_and_whole  What the verdicts on single readings promise, and what can be said of all readings together
presented         A result as it shows itself: in a cell, as a frame of its readings, and drawn into axes of one's own
reservations      What stands beside a verdict: what it leaves out, how large its uncertainty is
statements        The verdict of a result in words: why it is so, what was seen besides
tables            Tables of results: one way to ask for those of any kind
verdict_html      Why a verdict is so, as HTML: findings, what was not verified, and the rule; lists, folded or not
view              How one kind of result is shown: its words, tables, drawing, what-if controls
"""
