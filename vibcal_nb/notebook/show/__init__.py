"""One call, one display."""
