"""Whether a record is intact and performs again."""
