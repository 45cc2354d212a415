"""References that are a table over frequency.

reference_curve  The sensitivity and the phase of a reference between the frequencies of its certificate
"""
