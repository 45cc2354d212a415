"""Files of a site for a person to fill in."""
