"""Readings in the units of the part under test, their uncertainty and their judgement."""
