"""What a forked process does that executes the cells of one notebook: IPython's shell, one message a cell.

The same shell, compiler and display formatters as in a Jupyter kernel, and so the same outputs, without a kernel's
sockets and threads, which take longer to start than most cells to compute. Nobody can ask for input, no widget has
a front end, and what other processes write to the terminal themselves is not kept.
"""

from __future__ import annotations

import io
import os
import socket
import sys
from collections.abc import Mapping
from typing import Any

from ipykernel.compiler import XCachingCompiler
from ipykernel.ipkernel import IPythonKernel
from IPython.core.displayhook import DisplayHook
from IPython.core.displaypub import DisplayPublisher
from IPython.core.interactiveshell import InteractiveShell
from jupyter_client.session import json_packer, json_unpacker
from traitlets import Instance, Type
from traitlets.config import Config


class Outputs:
    """The outputs of the cell that runs, in the form of a notebook's file."""

    def __init__(self) -> None:
        self.items: list[dict[str, Any]] = []

    def write(self, name: str, text: str) -> None:
        """Add text to a stream; what follows one another is one output."""
        last = self.items[-1] if self.items else {}
        if last.get("name") == name:
            last["text"] += text
        elif text:
            self.items.append({"output_type": "stream", "name": name, "text": text})

    def take(self) -> list[dict[str, Any]]:
        """Return the outputs so far, and begin anew."""
        taken, self.items = self.items, []
        return taken


class _Stream(io.TextIOBase):
    encoding = "utf-8"

    def __init__(self, name: str, outputs: Outputs) -> None:
        self.name, self._outputs = name, outputs

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        self._outputs.write(self.name, text)
        return len(text)


class _Publisher(DisplayPublisher):
    shell: Any

    def publish(self, data: Mapping[str, Any], metadata: Any = None, *_: Any, update: bool = False, **__: Any) -> None:
        if update:
            raise NotImplementedError("A record's output cannot be changed once it is shown; show it when it is done.")
        shown = {"output_type": "display_data", "data": data, "metadata": metadata or {}}
        self.shell.outputs.items.append(shown)

    def clear_output(self, wait: bool = False) -> None:
        self.shell.outputs.take()


class _Hook(DisplayHook):
    shell: Any

    def write_output_prompt(self) -> None:
        pass

    def write_format_data(self, format_dict: Mapping[str, Any], md_dict: Any = None) -> None:
        result = {"output_type": "execute_result", "execution_count": self.prompt_count}
        self.shell.outputs.items.append({**result, "data": format_dict, "metadata": md_dict or {}})

    def finish_displayhook(self) -> None:
        pass


class CellShell(InteractiveShell):
    """IPython's shell, whose outputs go into a list."""

    compiler_class = Type(XCachingCompiler)
    displayhook_class = Type(_Hook)
    display_pub_class = Type(_Publisher)
    outputs = Instance(Outputs, ())

    def _showtraceback(self, etype: type[BaseException], evalue: BaseException | None, stb: list[str]) -> None:
        error = {"ename": etype.__name__, "evalue": str(evalue), "traceback": stb}
        self.outputs.items.append({"output_type": "error", **error})


def serve_cells(connection: socket.socket) -> None:
    """Execute each cell that comes and answer with its outputs, until the other end is closed. Does not return."""
    shell = CellShell.instance(config=Config({"HistoryManager": {"enabled": False}}))
    sys.stdout, sys.stderr = (_Stream(name, shell.outputs) for name in ("stdout", "stderr"))
    with connection, connection.makefile("rwb") as channel:
        send(channel, {"language_info": IPythonKernel.language_info})
        for line in channel:
            count, asked = shell.execution_count, json_unpacker(line)
            done = shell.run_cell(asked["source"], store_history=not asked.get("before"))
            send(channel, {"outputs": shell.outputs.take(), "execution_count": count, "success": done.success})
    os._exit(0)


def send(channel: Any, message: Mapping[str, Any]) -> None:
    """Send one message, as one line of JSON."""
    channel.write(json_packer(message) + b"\n")
    channel.flush()
