"""What a person states about a site, frozen: asset, channel, equipment, visit, reading, case."""
