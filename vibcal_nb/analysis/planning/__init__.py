"""Which readings a visit needs, and which of them a shaker reaches."""
