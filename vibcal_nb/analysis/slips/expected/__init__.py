"""What a channel's other readings, and its nominal sensitivity, lead one to expect of a reading.

- ``blocks``: readings that one expectation holds for: one frequency of a line, or a sweep
- ``plateau``, ``band_curve``: what most readings of a line, or of a band response, agree on, whatever single rows say
- ``block_expectation``, ``case_expectation``: which readings stand apart, and what would fit in their place
- ``known_factors``: what a mix-up of units, detectors and decimals multiplies a number by
"""
