"""Files of a new site filled in as a person would: each open value gets one, in its line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

OPEN = re.compile(r'(?m)^(\S+) = ""  # (?:needed, )?such as (.+?)(?:; or take the line away)?$')
ROTOR = re.compile(r'speed_rpm = ""')


def fill_in(path: Path, **values: str) -> None:
    """Fill every open value of a file with the example beside it, or with that of ``values``."""
    text = path.read_text(encoding="utf-8")
    text = OPEN.sub(lambda found: f"{found[1]} = {values.get(found[1], found[2])}", text)
    path.write_text(ROTOR.sub("speed_rpm = 2980", text), encoding="utf-8")


def lines_of_toml(*paths: Path) -> int:
    """Count the lines that say something: neither blank nor a comment."""
    texts = [path.read_text(encoding="utf-8") for path in paths]
    return sum(bool(line.strip()) and not line.startswith("#") for text in texts for line in text.splitlines())


def uncommented(text: str) -> str:
    """Take the comment mark away from every optional key and heading: those that would be TOML without it."""
    lines = []
    for line in text.splitlines():
        bare = line.removeprefix("# ")
        is_key = line.startswith("# ") and (re.match(r"[\w\"-]+ = |\[", bare) is not None)
        lines.append(bare if is_key and _is_toml(bare) else line)
    return "\n".join(lines) + "\n"


def _is_toml(line: str) -> bool:
    try:
        tomllib.loads(line)
    except tomllib.TOMLDecodeError:
        return False
    return True
