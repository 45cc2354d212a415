"""Print the oldest versions of the dependencies that pyproject.toml states, as constraints for pip."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path


def main() -> None:
    """Print a line NAME==VERSION for each dependency."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for dependency in project["dependencies"]:
        stated = re.fullmatch(r"([\w.-]+)>=([\w.]+)", dependency)
        if stated is None:
            sys.exit(f"pyproject.toml: found the dependency '{dependency}'; state it as NAME>=VERSION.")
        print("{}=={}".format(*stated.groups()))


if __name__ == "__main__":
    main()
