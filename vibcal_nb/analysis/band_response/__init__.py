"""Response of a channel over frequency, and the corners of its band.

band_candidates  Least-squares fits of Butterworth band models of several orders at once
band_model       Butterworth band model of a channel's response: plateau, half-power corners, orders
band_response    Band response of a channel: flat where it must be, rolled off where it must
corner           One corner of a band: where the response passes half power
half_power       Model-free corners: where the response, interpolated monotonically in logarithms, falls to half power
response_at      The response at one frequency, re the reference: read there
"""
