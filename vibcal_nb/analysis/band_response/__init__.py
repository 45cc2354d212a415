"""Response of a channel over frequency, and the corners of its band."""
