"""A channel's life gathered from its visits and, where they are at hand, its records.

gather_life  Visits read and judged, with the sign-offs and returns that lie beside their records
life_page    The life of a channel as one page that needs nothing else
"""
