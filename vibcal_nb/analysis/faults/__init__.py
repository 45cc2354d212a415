"""What explains a channel that fails, and what to measure next."""
