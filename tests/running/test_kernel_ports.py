"""Kernels that tests start get ports that the system gives to nobody, and no port twice."""

from __future__ import annotations

import socket

from jupyter_client.connect import LocalPortCache

from tests.support.running.kernel_ports import PORTS, OwnPorts


def test_the_kernels_of_tests_get_these_ports():
    assert type(LocalPortCache.instance()) is OwnPorts


def test_no_port_is_given_twice_nor_one_that_is_taken():
    ports = OwnPorts()
    first = ports.find_available_port("127.0.0.1")
    with socket.socket() as other:
        other.bind(("127.0.0.1", first + 1 if first + 1 in PORTS else PORTS[0]))
        given = [first, *(ports.find_available_port("127.0.0.1") for _ in range(50))]
        assert len(set(given)) == 51
        assert set(given) <= set(PORTS)
        assert other.getsockname()[1] not in given
    ports.return_port(first)
    assert first not in ports.currently_used_ports
