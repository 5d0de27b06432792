"""What the tests share: servers to call, and the methods of the contract."""

from __future__ import annotations

import concurrent.futures
import contextlib
import os
import re
import socket
import subprocess
import unittest
from collections.abc import Callable, Iterator
from typing import Any

import grpc

import coilwright
from coilwright import v1

DAEMON = os.environ["COILWRIGHTD"]


class Daemon:
    """coilwrightd on a port of its own."""

    def __init__(self, *flags: str, port: int = 0) -> None:
        self.process = subprocess.Popen([DAEMON, f"--port={port}", *(flags or ("--archive=none",))],
                                        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert self.process.stdout is not None
        said = next((line for line in self.process.stdout if "listening on" in line), None)
        if said is None:
            raise RuntimeError(f"{DAEMON} does not start")
        self.address = said.split()[-1]

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        assert self.process.stdout is not None
        self.process.stdout.close()


class LiveTest(unittest.TestCase):
    """Its tests share a server without an archive, and a client of it."""

    @classmethod
    def setUpClass(cls) -> None:
        cls.daemon = Daemon()
        cls.addClassCleanup(cls.daemon.kill)
        cls.shop = coilwright.connect(cls.daemon.address)
        cls.addClassCleanup(cls.shop.close)

    def error_of(self, call: Callable[[], Any]) -> coilwright.ServiceError:
        with self.assertRaises(coilwright.ServiceError) as caught:
            call()
        return caught.exception


@contextlib.contextmanager
def python_server(*add: Callable[[grpc.Server], None]) -> Iterator[str]:
    """A server of gRPC for Python that does as it is told; gives its address."""
    with concurrent.futures.ThreadPoolExecutor(4) as threads:
        server = grpc.server(threads)
        for to in add:
            to(server)
        port = server.add_insecure_port("127.0.0.1:0")
        server.start()
        try:
            yield f"127.0.0.1:{port}"
        finally:
            server.stop(None).wait()


def free_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port: int = listening.getsockname()[1]
        return port


def methods() -> Iterator[tuple[Any, Any]]:
    """Every service of the contract with each of its methods, as descriptors."""
    seen = set()
    for name in dir(v1):
        file = getattr(getattr(v1, name), "DESCRIPTOR", None)
        for service in getattr(file, "services_by_name", {}).values():
            if service.full_name not in seen:
                seen.add(service.full_name)
                for method in service.methods:
                    yield service, method


def call_of(shop: coilwright.Client, service: Any, method: Any) -> Callable[..., Any]:
    """The same method of a client."""
    call: Callable[..., Any] = getattr(getattr(shop, snake(service.name.removesuffix("Service"))), snake(method.name))
    return call


def snake(name: str) -> str:
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name).lower()
