"""The parent's side of warm kernels: start the template process, ask it for kernels, hold on to them."""

from __future__ import annotations

import asyncio
import atexit
import contextlib
import json
import os
import select
import signal
import socket
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import vibcal_nb
from vibcal_nb.running.kernels.template_server import MESSAGE_BYTES, READY, RETIRE

START_SECONDS = 60.0
ANSWER_SECONDS = 10.0
# The folder that this package lies in comes last, so that nothing in it hides a module of a library.
_CODE = "import sys; sys.path.append(sys.argv[2]); from vibcal_nb.running.kernels.template_server import main; main()"
# Read while modules are imported, thus before a kernel's own environment is there.
_IMPORT_ENVIRONMENT = {
    "MPLBACKEND": "module://matplotlib_inline.backend_inline",
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
}


def current_platform() -> str:
    """Return ``sys.platform``; a type checker would take a comparison with it for settled."""
    return sys.platform


class WarmKernelFailed(Exception):
    """No warm kernel can be had; the text is the reason as one clause."""


class WarmProcess:
    """A forked kernel, with the part of `subprocess.Popen` that a provisioner uses.

    It is the template's child, not ours: a process file descriptor watches and signals it.
    """

    stdin = stdout = stderr = None

    def __init__(self, pid: int, descriptor: int) -> None:
        self.pid = pid
        self._descriptor = descriptor
        self._ended = False

    def poll(self) -> int | None:
        """Return None while it runs, else 0 (how it ended, only the template knows)."""
        return 0 if self._wait(0) else None

    def wait(self, timeout: float | None = None) -> int:
        """Wait until it has ended. Raises ``subprocess.TimeoutExpired``."""
        if not self._wait(None if timeout is None else round(1000 * timeout)):
            raise subprocess.TimeoutExpired("kernel", timeout or 0.0)
        return 0

    async def ended(self, timeout: float) -> None:
        """Wait until it has ended, without holding up the event loop; return after ``timeout`` s in any case."""
        if self.poll() is not None:
            return
        loop, ended = asyncio.get_running_loop(), asyncio.Event()
        loop.add_reader(self._descriptor, ended.set)
        try:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(ended.wait(), timeout)
        finally:
            loop.remove_reader(self._descriptor)

    def _wait(self, milliseconds: int | None) -> bool:
        if not self._ended:
            poll = select.poll()
            poll.register(self._descriptor, select.POLLIN)
            self._ended = bool(poll.poll(milliseconds))
            if self._ended:
                os.close(self._descriptor)
        return self._ended

    def send_signal(self, signum: int) -> None:
        """Send a signal to it and to what it has started; a kernel that has ended is left alone."""
        if self.poll() is not None:
            return
        try:
            os.killpg(self.pid, signum)
        except ProcessLookupError:  # it has not become the leader of its group yet
            with contextlib.suppress(ProcessLookupError):
                signal.pidfd_send_signal(self._descriptor, signum)

    def kill(self) -> None:
        """Kill it."""
        self.send_signal(signal.SIGKILL)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)


class TemplateProcess:
    """A running template. Raises ``WarmKernelFailed`` where it does not come up."""

    def __init__(self, env: dict[str, str]) -> None:
        self._lock = threading.Lock()
        self._channel, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", _CODE, str(theirs.fileno()), str(Path(vibcal_nb.__file__).parents[1])],
                pass_fds=[theirs.fileno()],
                env={**_IMPORT_ENVIRONMENT, **env},
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        try:
            self._channel.settimeout(START_SECONDS)
            said = self._channel.recv(MESSAGE_BYTES)
        except OSError as error:
            said = str(error).encode()
        if said != READY:
            self.close()
            reason = said.decode() or "it ended while importing"
            raise WarmKernelFailed(f"the template process did not start: {reason}")
        self._channel.settimeout(ANSWER_SECONDS)

    def fork(self, request: dict[str, Any], connection: int | None = None) -> WarmProcess:
        """Have a process forked, with a descriptor handed over to it. Raises ``OSError`` or ``WarmKernelFailed``."""
        handed = [] if connection is None else [connection]
        with self._lock:
            socket.send_fds(self._channel, [json.dumps(request).encode()], handed)
            message, descriptors, _, _ = socket.recv_fds(self._channel, 64, 1)
        if not descriptors:
            raise WarmKernelFailed("the template process has ended")
        return WarmProcess(int(message), descriptors[0])

    def retire(self) -> None:
        """Let it end once its last kernel has."""
        with contextlib.suppress(OSError), self._lock:
            self._channel.send(RETIRE)

    def close(self) -> None:
        """End it now, and its kernels with it."""
        self._channel.close()
        try:
            self._process.wait(5.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class _Templates:
    """The template in use, and those whose imports have gone stale while kernels of theirs still run."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.key: object = None
        self.current: TemplateProcess | None = None
        self.retired: list[TemplateProcess] = []

    def get(self, env: dict[str, str]) -> TemplateProcess:
        # JPY_...: which session or server asks, which changes from kernel to kernel and nothing that is imported
        imports_env = {name: value for name, value in env.items() if not name.startswith("JPY_")}
        key = (os.getpid(), imports_env, _package_state())
        with self.lock:
            if self.current is None or self.key != key:
                self.drop()
                self.current = TemplateProcess(imports_env)
                self.key = key
            return self.current

    def drop(self) -> None:
        if self.current is not None:
            self.current.retire()
            self.retired.append(self.current)
        self.current = None

    def close(self) -> None:
        with self.lock:
            self.drop()
            for template in self.retired:
                template.close()
            self.retired.clear()


_templates = _Templates()
close_templates = _templates.close
atexit.register(close_templates)


def fork_kernel(arguments: list[str], *, env: dict[str, str], cwd: str) -> WarmProcess:
    """Start a kernel with these arguments, environment and current folder.

    Raises ``WarmKernelFailed`` or ``OSError`` where that is not possible.
    """
    return _fork({"arguments": arguments, "env": env, "cwd": cwd})


def fork_cells(connection: int, *, env: dict[str, str], cwd: str) -> WarmProcess:
    """Start a process that executes the cells which come over a connected socket, given by its descriptor.

    Raises ``WarmKernelFailed`` or ``OSError`` where that is not possible.
    """
    return _fork({"arguments": [""], "env": env, "cwd": cwd}, connection)


def _fork(request: dict[str, Any], connection: int | None = None) -> WarmProcess:
    if current_platform() != "linux":
        raise WarmKernelFailed("warm kernels need Linux")
    template = _templates.get(request["env"])
    try:
        return template.fork(request, connection)
    except (OSError, WarmKernelFailed):
        with _templates.lock:
            if _templates.current is template:
                _templates.drop()
        raise


def _package_state() -> tuple[tuple[str, int, int], ...]:
    """Tell one state of the package's source files from another."""
    folder = Path(vibcal_nb.__file__).parent
    found = []
    for path in sorted(folder.rglob("*.py")):
        status = path.stat()
        found.append((str(path), status.st_mtime_ns, status.st_size))
    return tuple(found)
