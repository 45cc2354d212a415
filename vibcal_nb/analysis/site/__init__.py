"""All channels of a site together.

channel_state  Where a channel stands: the verdict on the whole channel leads, then its set points and tests
common_shift   Where all channels of one occasion shift alike, the reference is to be looked at, and not the channels
margins        How near a result lies to the limit that is nearest
site_changes   A channel's sensitivities over the visits, as its results state them: the last change
site_overview  A whole site: every channel's state, what is overdue, what drifts, what shifted alike
site_results   One result as it stands among thousands: what the site overview is made from

Shifts that channels share are named at ``|E_n| > 1`` with U for 95 %. A reference's uncertainty cannot be taken out of
E_n there: another certificate is another error, and it is the very error that is looked for.
"""
