"""Files to validated, frozen objects; every problem of a folder is said at once."""
