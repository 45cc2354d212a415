"""Drawing: one way, matplotlib, once a figure; the same SVG stands in notebook, page and report.

axes_grid      Where the plots of a figure stand: fixed places, which nothing has to seek
kept_pictures  Pictures read back from records, from which reports take them
light_figure   A figure written down as plain data, for whoever draws it where a person can touch it
lettering      The letters that a picture brings along
marks          Readings as marks: filled where they lie within their limits, hollow where not
picture        A figure drawn once, as SVG, with its text in words
plot_parts     What several plots are drawn of: readings with their U, limits, marks of running speeds
svg_canvas     The canvas of matplotlib that writes the SVG

A picture stands in a page as an image (`<img alt=...>`), not as an SVG element: JupyterLab leaves of such an element
only the letters where a notebook is not trusted, and gives an output that is a picture no text for those who do not
see it. Colours of an image follow light and dark all the same. Its canvas is our own because matplotlib's SVG is three
times as long and has one set of colours.
"""
