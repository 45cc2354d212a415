"""Drawing: figures, axes, marks, legends.

plot_parts     What several plots are drawn of: readings with their U, limits, marks of running speeds
png            Figures as PNG: made, drawn and rendered without a window system and without global state
screen_png     PNG for the screen: written fast, because a person waits for it, and read by whatever reads PNG
vector_axes    Axes that write SVG by themselves: what `plots` asks of matplotlib's axes, at a tenth of the time
vector_legend  The legend of a plot as SVG
vector_marks   Small parts of a plot as SVG: markers, texts, dashes, and where the ticks of an axis stand
"""
