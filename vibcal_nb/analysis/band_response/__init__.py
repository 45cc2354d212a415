"""Response of a channel over frequency, and the corners of its band.

band_candidates  Least-squares fits of band models of several orders and shapes at once
band_model       Band model of a channel's response: plateau, corners, orders, and what stays open
band_response    Band response of a channel: flat where it must be, rolled off where it must
band_search      Which band models are tried: Butterworth filters, then filters of any shape
corner           One corner of a band: where the response passes half power
corners_stated   What may be stated of the two corners of a band, and why the rest may not
filter_shape     What a filter leaves of a sine, for filters of any shape without zeros
half_power       Model-free corners: where the response, interpolated monotonically in logarithms, falls to half power
order_told       The order of a side's filter, and its damping where it is of second order
response_at      The response at one frequency, re the reference: read there, or by a model that holds

A corner is a matter of half a percent, and a filter's shape moves it by as much: a damping of 0.70 in place of 0.707
moves it by 0.8 %. So the shape is fitted with the corner unless the channel states it, a model that chi-squared rejects
at 0.1 % decides nothing, and the readings' errors are those of the budget, never smaller because readings happen to
agree. Half power may be meant of the plateau or of the response at the reference frequency; intervals hold either.
"""
