"""The frame of a notebook: parameters, refusals, sources."""
