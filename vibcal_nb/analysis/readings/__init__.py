"""Readings in the units of the part under test, their uncertainty and their judgement.

chosen_reference     Which reference a level is known by: of those that the visit names
errors               Errors of readings, each by its source: certificate, display, repeats
contributions        Contributions to the uncertainty that no certificate states: their defaults, and a visit's edits
flat_part            Whether the readings can call a stretch of frequencies flat: enough of them
grouping             What counts as the same: a portable shaker settles near a target
judged_point         One reading as an analysis judges it: its deviation, the uncertainty of that, and the verdict
over_frequency       Readings as a fit over frequency takes them: one a frequency, with the errors that they share
point_limits         The limits of a response that apply at one frequency
reading_uncertainty  From equipment and readings to the uncertainty of each reading, in two classes kept apart
relative_response    Sensitivities at several frequencies relative to that at the reference frequency
scaled_readings      Readings of one case as arrays in the units of the part under test
waveform_checks      What sampled signals hide: late settling, converter's steps, folding, two clocks, mains
waveform_reading     A reading from sampled signals: the settled part of the record, both sines in it

Three classes of error are kept apart. What all readings of a visit share (certificate, drift, readout gain) does not
average down; it cancels in ratios and in non-linearity, but for the part of a certificate's error that differs from
frequency to frequency (half of its variance by default: judgement, stated in every budget). What all levels at one
frequency share (mounting, transverse motion, distortion) does not average down over levels, and does not cancel between
frequencies. What is independent (settling, resolution) averages down. Default contributions are judgement, shown as
such, and replaced per visit. Repeats with four or more degrees of freedom replace the judgement on settling.

Levels within 3 % are one level, frequencies within 1 % one frequency. A part is flat where readings at three
frequencies or more lie in it and the outermost lie within a third octave of its ends or beyond; else it is not
verified.
"""
