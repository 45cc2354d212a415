"""The figure that a person touches: what if a limit were another, or a reading left out.

exploration  What was changed, step by step: undo, redo, back to the record; it knows no screen
subject      What can be explored: its controls, where the record stands, what comes of another stand
explored     A result of one test as something to explore
readings_shown  The table of readings beside a figure
shown        What the screen is told: figure, readings, answer, controls, as plain data
faults       The explanations of a channel's readings as something to explore
drifting     A channel's history as something to explore
planned      A plan as something to explore
kept         Findings of a panel: keep where it stands, list them, go back to one
panel        The panel: takes what a person does, answers with what is to be seen
widget       The widget that carries both ways
front        Its JavaScript and its style sheet

The figure is written down by the drawing functions of the records and drawn in the browser, as SVG of our own: elements
of SVG have focus, role and name, follow the theme, and are saved as they are. Nothing is loaded from elsewhere.
A panel works on copies of the case. What it shows is no record, and says so above the figure, in it, and in the name of
what is saved.
"""
