"""Warm processes in which notebooks are executed."""
