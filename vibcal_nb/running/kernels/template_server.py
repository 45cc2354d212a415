"""The process that warm kernels are forked from: it has the imports loaded, and does nothing else.

Run by `warm_kernel` with the number of a Unix socket as its argument. Each message on the socket is a kernel to
fork; the answer carries its process as a file descriptor, which cannot be mistaken for another process later.

It must stay single-threaded, without event loop, zmq context or IPython instance, since a fork takes only the
forking thread along. It ends with its parent, whose death closes the socket, and its kernels end with it.
"""

from __future__ import annotations

import ctypes
import gc
import importlib
import json
import os
import pkgutil
import random
import signal
import socket
import sys
import threading
from typing import Any

MESSAGE_BYTES = 1 << 20
READY = b"ready"
RETIRE = b"retire"
LAYERS = ("model", "metrology", "inputs", "analysis", "display", "records", "notebook")
# What executing a record loads besides, when it first plots, fits, or starts a shell. Not matplotlib_inline, which
# hooks itself into the running shell when it is imported.
LOADED_LATER = (
    "IPython.core.completerlib",
    "IPython.core.debugger",
    "IPython.core.logger",
    "IPython.core.magics",
    "IPython.core.oinspect",
    "IPython.extensions.storemagic",
    "encodings.utf_8_sig",
    "faulthandler",
    "ipykernel.debugger",
    "ipykernel.ipkernel",
    "ipykernel.kernelapp",
    "matplotlib.figure",
    "psutil",
    "scipy.optimize",
    "scipy.special",
    "tornado.platform.asyncio",
    "vibcal_nb.running.kernels.cells",
    "zmq.utils.garbage",
)


def main() -> None:
    """Load, say so, and fork kernels until the parent is gone; in a forked process, be the kernel."""
    channel = socket.socket(fileno=int(sys.argv[1]))
    try:
        load_imports()
    except Exception as error:  # the kernels are ordinary ones then, whose notebooks may not need what is broken
        channel.send(f"an import failed ({type(error).__name__}: {error})".encode())
        return
    if threading.active_count() > 1:
        names = ", ".join(thread.name for thread in threading.enumerate())
        channel.send(f"an import has started threads ({names})".encode())
        return
    gc.collect()
    gc.freeze()  # else the first collection in each kernel would copy all these pages
    channel.send(READY)
    request = serve(channel)
    if request is not None:
        become_kernel(request)


def load_imports() -> None:
    """Import what a record needs, and draw one small figure, so that fonts and glyphs are loaded too."""
    from jupyter_client.localinterfaces import local_ips

    import vibcal_nb

    for layer in LAYERS:
        package = importlib.import_module(f"{vibcal_nb.__name__}.{layer}")
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            importlib.import_module(module.name)
    for name in LOADED_LATER:
        importlib.import_module(name)
    local_ips()  # which looks at all network interfaces, and remembers
    _draw_once()


def _draw_once() -> None:
    from vibcal_nb.display.drawing.axes_grid import axes_grid
    from vibcal_nb.display.drawing.picture import draw_picture

    def draw(figure: Any) -> None:
        linear, logarithmic = axes_grid(figure, columns=2)[0]
        linear.plot([0.0, 1.0], [0.0, 1.0], marker="o", label="x")
        linear.errorbar([0.0, 1.0], [0.0, 1.0], yerr=[0.1, 0.1])
        linear.barh([0, 1], [0.1, 1.0])
        logarithmic.semilogx([1.0, 10.0], [0.0, 1.0], label="±−µ²")
        logarithmic.fill_between([1.0, 10.0], 0.0, 1.0)
        logarithmic.set_title("title")
        for axes in (linear, logarithmic):
            axes.set_xlabel("frequency / Hz")
            axes.legend()

    draw_picture(2.0, draw, text="").to_html()


def serve(channel: socket.socket) -> dict[str, Any] | None:
    """Fork a kernel for each message; return its request in the forked process, None when it is time to end."""
    kernels: set[int] = set()
    retiring = False

    def reap(*_: object) -> None:
        for pid in list(kernels):
            try:
                ended = os.waitpid(pid, os.WNOHANG)[0]
            except ChildProcessError:  # a signal came in between, and its handler has seen to it
                ended = pid
            if ended:
                kernels.discard(pid)
        if retiring and not kernels:
            os._exit(0)

    signal.signal(signal.SIGCHLD, reap)
    while True:
        message, descriptors, _, _ = socket.recv_fds(channel, MESSAGE_BYTES, 1)
        if not message:
            return None
        if message == RETIRE:
            retiring = True
            reap()
            continue
        template = os.getpid()
        pid = os.fork()
        if pid == 0:
            channel.close()
            return {**json.loads(message), "cells": next(iter(descriptors), None), "template": template}
        for descriptor in descriptors:
            os.close(descriptor)
        _answer(channel, pid)
        kernels.add(pid)
        reap()


def _answer(channel: socket.socket, pid: int) -> None:
    descriptor = os.pidfd_open(pid)
    try:
        socket.send_fds(channel, [str(pid).encode()], [descriptor])
    finally:
        os.close(descriptor)


def become_kernel(request: dict[str, Any]) -> None:
    """Turn this forked process into the kernel that is asked for, as if it had been started for it.

    Where the request came with a connection, into one that executes the cells which come over it.
    """
    _end_with_template(request["template"])  # before anything else: from here on it outlives nobody
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.setsid()
    _redirect_streams()
    os.environ.clear()
    os.environ.update(request["env"])
    os.chdir(request["cwd"])
    sys.argv = list(request["arguments"])
    _reseed()
    if request["cells"] is not None:
        from vibcal_nb.running.kernels.cells import serve_cells

        serve_cells(socket.socket(fileno=request["cells"]))
    from ipykernel.kernelapp import launch_new_instance

    launch_new_instance()


def _end_with_template(template: int) -> None:
    """Have the operating system kill this process with its template, even while a cell holds the interpreter."""
    set_parent_death_signal = 1  # PR_SET_PDEATHSIG of prctl(2)
    ctypes.CDLL(None).prctl(set_parent_death_signal, signal.SIGKILL)
    if os.getppid() != template:  # it has ended already
        os._exit(1)


def _redirect_streams() -> None:
    """Point the standard streams nowhere: a pipe that nobody empties would fill and block the kernel."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1, 2):
        os.dup2(nowhere, standard)
    os.close(nowhere)


def _reseed() -> None:
    """Give every kernel random numbers of its own; a fork copies the generators' states."""
    import numpy as np

    random.seed()
    np.random.seed()


if __name__ == "__main__":
    main()
