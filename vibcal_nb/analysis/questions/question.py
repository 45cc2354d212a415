"""A question about a visit: which file it is about, what it asks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Question:
    """A question to a person; ``file`` is where the answer would be written, ``rows`` are those of a reading table."""

    file: str
    text: str
    rows: tuple[int, ...] = ()

    @property
    def sentence(self) -> str:
        """The question with its file."""
        return f"{self.file}: {self.text}"
