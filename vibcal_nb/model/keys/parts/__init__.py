"""Keys of what has parts: those of a channel, and of its references.

common           keys that several parts of a channel share
band_keys        [channels.TAG.band]: the response over its band
sensor_keys      [channels.TAG.sensor], [channels.TAG.module]: the sensor alone, and what follows it
gap_curve_keys   [channels.TAG.gap_curve]: an eddy-current probe against the gap
response_keys    the phase of a channel, and of its sensor alone; a sensor at other temperatures
instrument_keys  what references and readouts share: identity, certificate, display, drift
reference_keys   [[reference]]: its uncertainty by frequency, its sensitivity
"""
