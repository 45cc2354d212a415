"""A channel as a sketch, with the limits that are stated so far: drawn while a person describes it.

channel_sketch  What of a channel's stated keys can be drawn, whatever is still open
sketch_plots    The sketch: output over level, and response over frequency
"""
