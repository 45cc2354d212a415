"""The register of a site's results."""
