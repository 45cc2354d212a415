"""The base of what the mathematics cannot use, from which the trade makes refusals."""

from __future__ import annotations


class Unusable(ValueError):
    """A value, budget, rule or signal that cannot be used; the text is one sentence that says what to do."""
