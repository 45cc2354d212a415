"""Imported by every Python that starts with this folder on its path: notes what nothing in a file may bring about.

Environment: ``WATCH_LOG``, a file to which each such deed is a line; ``WATCH_MAY``, folders that may be written to.
"""

import os
import sys
from pathlib import Path

from tests.fuzzing.watch import PROGRAMS, describe

# what the standard library and matplotlib ask for processor and fonts
_PROGRAMS = (*PROGRAMS, "uname", "fc-list")
_log = os.open(os.environ["WATCH_LOG"], os.O_WRONLY | os.O_APPEND)
_may = [Path(folder).resolve() for folder in os.environ["WATCH_MAY"].split(os.pathsep)]


def _note(event: str, arguments: tuple) -> None:
    for deed in describe(event, arguments, _may, _PROGRAMS):
        os.write(_log, f"{os.getpid()}: {deed}\n".encode("utf-8", "backslashreplace"))


sys.addaudithook(_note)
