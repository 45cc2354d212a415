"""Ports for the kernels of tests, out of the way of all that runs beside them.

jupyter_client looks for a port that is free, and the kernel binds it half a second later. In between a browser's
connection, or the kernel of another process of the tests, may have been given the same one by the system, and the
kernel dies ("Address already in use"). Ports below those that Linux (32768), macOS and Windows (49152) give away, from
another place in each process, meet nobody.
"""

from __future__ import annotations

import itertools
import os
import socket
from typing import Any

from jupyter_client.connect import LocalPortCache

PORTS = range(20_000, 32_000)
KERNELS = 20  # places between two processes, of five ports each


class OwnPorts(LocalPortCache):
    """Goes through the ports from a place that is this process's own."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        begin = os.getpid() * 5 * KERNELS % len(PORTS)
        self._ports = itertools.cycle([*PORTS[begin:], *PORTS[:begin]])

    def find_available_port(self, ip: str) -> int:
        for port in self._ports:
            if port not in self.currently_used_ports and _is_free(ip, port):
                self.currently_used_ports.add(port)
                return port
        raise AssertionError("a cycle has no end")


def _is_free(ip: str, port: int) -> bool:
    with socket.socket() as probe:
        try:
            probe.bind((ip, port))
        except OSError:
            return False
    return True
