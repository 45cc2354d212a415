"""One mutant before its tests, in a forked process: the libraries are imported once, the changed program anew."""

from __future__ import annotations

import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import signal
import sys
import traceback
from pathlib import Path

import pytest

from tests.mutation.mutants import Mutant

SETTINGS = ["-q", "-x", "-o", "addopts=", "-p", "no:cacheprovider", "-p", "tests.mutation.few_examples"]
LIBRARIES = [
    "numpy",
    "pandas",
    "lmfit",
    "matplotlib.pyplot",
    "nbformat",
    "ipywidgets",
    "scipy.optimize",
    "scipy.signal",
    "scipy.stats",
]
NO_TRIAL = 70  # exit status of a process in which not even pytest came to run
WITHOUT_TESTS = {NO_TRIAL, pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED}
"""Then the mutant was noticed, as where a module of tests cannot be imported, if without it the tests are collected."""
CPU_SECONDS = 150
MEMORY_BYTES = 4 * 2**30


class MutatedModule(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Gives the mutant's text for its module; every other module comes as ever."""

    def __init__(self, mutant: Mutant) -> None:
        self.module = mutant.path.removesuffix(".py").replace("/", ".")
        super().__init__(self.module, str(Path(mutant.path).resolve()))
        self.text = mutant.source()

    def find_spec(self, fullname, path=None, target=None):
        if fullname != self.module:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def get_code(self, fullname):
        return compile(self.text, self.path, "exec")


def warm_up(folder: Path) -> None:
    """Import what most tests import, but nothing of the program, its tests, and what pytest wants to import itself.

    What is compiled on the way, and by the trials, goes to `folder`: compiling it anew took longer than most trials.
    """
    sys.pycache_prefix, sys.dont_write_bytecode = str(folder), False
    for name in LIBRARIES:
        importlib.import_module(name)


def fate(mutant: Mutant, tests: list[str], log: Path) -> str:
    """Return "killed", "time" (killed by the limit of CPU time) or "survived"; the tests' words go to `log`."""
    status = _forked(mutant, tests, log)
    if os.WIFSIGNALED(status):
        return "time" if os.WTERMSIG(status) in {signal.SIGXCPU, signal.SIGKILL} else "killed"
    code = os.WEXITSTATUS(status)
    if code in WITHOUT_TESTS:
        words = log.read_text(encoding="utf-8")
        if os.waitstatus_to_exitcode(_forked(None, ["--collect-only", *tests], log)) != 0:
            raise RuntimeError(f"pytest could not run the tests: {words}")
    return "survived" if code == 0 else "killed"


def _forked(mutant: Mutant | None, arguments: list[str], log: Path) -> int:
    child = os.fork()
    if child == 0:
        _face(mutant, arguments, log)
    return os.waitpid(child, 0)[1]


def _face(mutant: Mutant | None, arguments: list[str], log: Path) -> None:
    """Run the tests, on the mutant where there is one, and end this process, whatever they do."""
    code = NO_TRIAL
    try:
        with log.open("w", encoding="utf-8") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        if mutant is not None:
            sys.meta_path.insert(0, MutatedModule(mutant))
        code = int(pytest.main([*SETTINGS, *arguments]))
    except BaseException:
        log.write_text(traceback.format_exc(), encoding="utf-8")
    finally:
        os._exit(code)
