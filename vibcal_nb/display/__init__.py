"""Results to what a person sees: sentences, tables, figures, what-if panels.

card/           The answer first: one card, the same in notebook, page and report
readings/       Readings in tables: as they were typed, and what was made of each
style           One look for all figures and tables: colours, markers, type
views           The list of views: for each analysis the module that shows its results, as ``VIEW``
band_response/  A band response in words, tables and plots
channel/        A channel's verdict in words, tables and plots
drawing/        Drawing: one way, matplotlib, once a figure
life/           A channel over the years in words, tables and one figure
drift/          A drift in words, tables and plots
entry/          What the screen at the shaker says and draws
faults/         Explanations of faults in tables and plots
gap_curve/      A gap curve in words, tables and plots
linearity/      A linearity in words, tables and plots
phase/          Phases within a result, in words, tables and a plot
planning/       A plan in figures
relay/          From the output to the relay: display, set points, votes, electrical health
results/        What every kind of result shows: statements, tables, figures, verdicts
sensor_alone/   A sensor alone in words, tables and plots
site/           A site in tables
sketch/         A channel as a sketch, with the limits that are stated so far
waveforms/      Sampled signals in figures
writing/        Words, numbers and tables

A result is shown through its ``View`` alone: words, tables, drawing, what-if controls, what it does not show.
"""
