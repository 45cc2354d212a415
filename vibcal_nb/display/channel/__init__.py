"""A channel's verdict in words, tables and plots."""
