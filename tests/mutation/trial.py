"""One mutant before its tests, in a forked process: the libraries are imported once, the changed program anew."""

from __future__ import annotations

import contextlib
import importlib.abc
import importlib.machinery
import importlib.util
import io
import os
import resource
import signal
import sys
from pathlib import Path

import pytest

from tests.mutation.covering import test_modules
from tests.mutation.mutants import Mutant

SETTINGS = ["-q", "-x", "-o", "addopts=", "-p", "no:cacheprovider", "-p", "tests.mutation.few_examples"]
CPU_SECONDS = 150
MEMORY_BYTES = 4 * 2**30


class MutatedModule(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Gives the mutant's text for its module; every other module comes as ever."""

    def __init__(self, mutant: Mutant) -> None:
        self.module = mutant.path.removesuffix(".py").replace("/", ".")
        super().__init__(self.module, str(Path(mutant.path).resolve()))
        self.text = mutant.source()

    def find_spec(self, fullname, path=None, target=None):
        return (
            importlib.util.spec_from_file_location(fullname, self.path, loader=self)
            if fullname == self.module
            else None
        )

    def get_code(self, fullname):
        return compile(self.text, self.path, "exec")


def warm_up() -> None:
    """Import what the tests import, collect them once, and forget the program and its tests again."""
    with contextlib.redirect_stdout(io.StringIO()):
        outcome = pytest.main([*SETTINGS, "--collect-only", *test_modules()])
    if outcome != 0:
        raise RuntimeError("the tests cannot be collected")
    for name in [name for name in sys.modules if name.partition(".")[0] in {"vibcal_nb", "tests"}]:
        if not name.startswith("tests.mutation") and name != "tests":
            del sys.modules[name]


def fate(mutant: Mutant, tests: list[str], log: Path) -> str:
    """Return "killed", "time" (killed by the limit of CPU time) or "survived"; the tests' words go to `log`."""
    child = os.fork()
    if child == 0:
        _face(mutant, tests, log)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return "time" if os.WTERMSIG(status) in {signal.SIGXCPU, signal.SIGKILL} else "killed"
    code = os.WEXITSTATUS(status)
    if code in {pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED}:
        raise RuntimeError(f"pytest could not run the tests: {log.read_text(encoding='utf-8')}")
    return "survived" if code == 0 else "killed"


def _face(mutant: Mutant, tests: list[str], log: Path) -> None:
    """Run the tests on the mutant and end this process, whatever they do."""
    code = 1
    try:
        with log.open("w", encoding="utf-8") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        sys.meta_path.insert(0, MutatedModule(mutant))
        code = int(pytest.main([*SETTINGS, *tests]))
    finally:
        os._exit(code)
