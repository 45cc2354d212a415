"""A channel over the years: what each visit found, with what, on which items.

channel_life  The visits of one channel and what lies between them: exchanges, adjustments, sign-offs
"""
