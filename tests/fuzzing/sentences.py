"""What a refusal must look like: sentences of the agreed form, and lines that a terminal can show."""

from __future__ import annotations

import re

SENTENCE = re.compile(r"(.+: found .+; .+\.|\.\.\. and \d+ more problems?, not listed here\.)", re.DOTALL)


def check_sentences(text: str) -> None:
    """Every line is one sentence of the agreed form, of a length that can be read, without control characters."""
    for line in text.split("\n"):
        assert SENTENCE.fullmatch(line), line
        check_line(line)
        assert "Error" not in line.split("found", 1)[0], line


def check_line(line: str) -> None:
    """A line that a terminal shows as it is: printable, of a length that can be read, and no traceback."""
    assert line.isprintable(), line
    assert len(line) < 1500, line
    assert "Traceback" not in line, line


def check_printed(text: str) -> None:
    """What a command printed: some lines, each of which can be read."""
    lines = text.splitlines()
    assert len(lines) < 500, len(lines)
    for line in lines:
        check_line(line)
