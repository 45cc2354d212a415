"""A band response in words, tables and plots."""
