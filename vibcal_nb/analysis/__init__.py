"""The mathematics: knows no file, no plot, no widget, no clock, no global random state.

judged_quantity A quantity that readings determine together, beside its limits
refusal         What the mathematics cannot use becomes a refusal where an analysis is called
result          What every kind of result answers, so that whoever compares or lists results needs to know no kind
band_response/  Response of a channel over frequency, and the corners of its band
channel/        The whole channel: its tests together, its alarm reach, which part is off
life/           A channel over the years: verdicts, exchanges, adjustments
drift/          A channel over its visits, and the next interval
entry/          Readings as they are taken: what comes next, what one says, what is still missing
faults/         What explains a channel that fails, and what to measure next
gap_curve/      Voltage of an eddy-current probe against the gap before its target
gates/          What keeps a pass from being said, whatever the readings say
linearity/      Linearity of a channel at each running speed
phase/          Phase of an output against the level: limits, polarity, delay
planning/       Which readings a visit needs, and which of them a shaker reaches
readings/       Readings in the units of the part under test, their uncertainty and their judgement
relay/          From the output to the relay: display, set points, votes, electrical health
sensor_alone/   Sensitivity and flatness of a sensor alone
site/           All channels of a site together
slips/          Slips of writing: readings that a person may have written down wrongly, each as a question

An analysis takes a case and returns a frozen result that keeps the case. What-if questions change a copy of the case
(``Case.with_...``), so that an exploration runs the very analysis of the record. Analyses work in the units of the part
under test, because limits and results are in them; units are converted once, in ``readings.scaled_readings``.

The verdict of a result is the worst of its parts, in the order pass, conditional pass, not verified, conditional fail,
fail. Simple acceptance has pass and fail; guarded acceptance the four words of ILAC-G8:09/2019.
"""
