"""Sine waves in sampled signals (IEEE Std 1057-2017)."""
