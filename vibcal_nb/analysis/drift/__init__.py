"""A channel over its visits, and the next interval.

channel_observations  All that a channel's visits say of its sensitivities, worked out anew from their readings
drift                 Drift of a channel over its visits: what changed between them, where it is going
interval              When to come again: interval methods of ILAC-G24:2022 / OIML D 10:2022
normalized_error      E_n tells whether the difference of two results is more than their uncertainties explain
observations          What a result says of a channel's sensitivity at one time, fit to be held against other times
standing              Whether a channel stood within its tolerance at its visits

Earlier visits are read from their input folders and analysed again, since inputs are the better witness. Other
certificates are other errors, also of the same instrument: nothing is removed from E_n that is not known to be shared.
An as-left result always breaks the trend. Where the chi-squared test fails, no date is given.
"""
