"""Kinds of channel that plants commonly have, as a start for a site's own kinds.toml.

common_kind  One common kind: what its form fixes, and what a person has to state
casing       On the casing: accelerometers, moving coils, transmitters, broadband monitors
shaft        At the shaft, and at low speeds
kinds        All of them, by name

What the form of a chain fixes (units, a live zero of 4 mA, the limits of a standard) stands there. What a data sheet, a
list of set points or the site's own rules say is left open, with a value that is common in the trade as an example
(common practice, no source): a limit that nobody stated must not judge a channel.
"""
