"""Generator of the invented demo site: simulated physics, so that every reading has a known truth."""
