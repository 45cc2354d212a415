"""All channels of a site together."""
