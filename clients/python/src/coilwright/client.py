"""A connection to a server, with one attribute for each service."""

from __future__ import annotations

import contextlib
import importlib.resources
import ipaddress
import os
import re
import ssl
import warnings
from collections.abc import Callable, Iterator
from types import TracebackType

import grpc

from coilwright.calls import Calls, checked_seconds
from coilwright.errors import error_of_call
from coilwright.services import Services

# A path, or what stands in the file.
Pem = str | os.PathLike[str] | bytes

_SERVING = 1  # of grpc.health.v1.HealthCheckResponse

_OPTIONS = [
    # Calls that may be repeated are, while the server cannot be reached; a stream never is.
    ("grpc.service_config", importlib.resources.files("coilwright").joinpath("service_config.json").read_text()),
    # A server that comes back is met by the next attempt.
    ("grpc.initial_reconnect_backoff_ms", 200),
    ("grpc.max_reconnect_backoff_ms", 5000),
    # A stream on a dead line ends within a minute. The server takes a ping every 20 s and hangs up on more.
    ("grpc.keepalive_time_ms", 30000),
    ("grpc.keepalive_timeout_ms", 10000),
    ("grpc.http2.max_pings_without_data", 0),
]


class Client(Services):
    """Close it, or use it in a with block. Any thread may call."""

    def __init__(self, calls: Calls) -> None:
        super().__init__(calls)
        self._calls = calls
        self._health = calls.channel.unary_unary("/grpc.health.v1.Health/Check")

    def is_serving(self, service: str = "", *, deadline_seconds: float = 5) -> bool:
        """Whether the server takes calls: all of it, or one service by its full name, "coilwright.v1.WireService".

        ServiceError NOT_FOUND for a service that it does not have.
        """
        # The two messages of the health service, a text and a number, by hand: a second copy of a common file would
        # stop a program that has the original.
        if not isinstance(service, str) or re.fullmatch(r"[\w.]{0,127}", service, re.ASCII) is None:
            raise ValueError(f"service: got {service!r:.60}, accepted: the full name of a service, or '' for the server")
        name = service.encode()
        request = b"\x0a" + bytes([len(name)]) + name if name else b""
        self._calls.check_open()
        try:
            answer: bytes = self._health(request, timeout=checked_seconds(deadline_seconds))
        except grpc.RpcError as error:
            raise error_of_call(error, self._calls.address, self._calls.secure) from None
        return answer == bytes([0x08, _SERVING])

    def close(self) -> None:
        """Ends what still runs."""
        self._calls.close()

    def __enter__(self) -> Client:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()


def connect(address: str = "127.0.0.1:7360", *, ca: Pem | None = None, certificate: Pem | None = None,
            key: Pem | None = None, deadline_seconds: float = 30) -> Client:
    """A client of the server at HOST:PORT. Nothing is sent before the first call.

    ca                  certificates by which the server is known, as a path or as bytes in PEM; plain text without
    certificate, key    our own, where the server wants to know who calls
    deadline_seconds    of calls that name none; streams last until they end
    """
    parts = re.fullmatch(r"(?:([^\s:\[\]]+)|\[([0-9a-fA-F:.]+)\]):([0-9]{1,5})", str(address))
    if parts is None or not 1 <= int(parts[3]) <= 65535:
        raise ValueError(f"address: got {address!r}, accepted: HOST:PORT with a port from 1 to 65535")
    if (certificate is None) != (key is None):
        raise ValueError("certificate and key: got one of them, accepted: both or none")
    if certificate is not None and ca is None:
        raise ValueError("ca: missing beside certificate and key, accepted: certificates by which the server is known")
    checked_seconds(deadline_seconds)
    if ca is None:
        if not _is_loopback(parts[1] or parts[2]):
            warnings.warn(f"plain text to {address}: anybody on the way can read and change what is said; give ca",
                          stacklevel=2)
        return Client(Calls(grpc.insecure_channel(address, _OPTIONS), address, False, deadline_seconds))
    trusted = _read("ca", ca)
    _checked("ca: no certificate in PEM", lambda context: context.load_verify_locations(cadata=trusted.decode("ascii")))
    own = None if certificate is None or key is None else (_read("certificate", certificate), _read("key", key))
    if own is not None:
        with _in_memory(b"\n".join(own)) as path:
            _checked("certificate and key: not in PEM, or not of each other",
                     lambda context: context.load_cert_chain(path, password=""))
    credentials = grpc.ssl_channel_credentials(trusted, own and own[1], own and own[0])
    return Client(Calls(grpc.secure_channel(address, credentials, _OPTIONS), address, True, deadline_seconds))


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _read(name: str, given: Pem) -> bytes:
    if isinstance(given, bytes):
        return given
    if not isinstance(given, str | os.PathLike):
        raise TypeError(f"{name}: got {type(given).__name__}, accepted: a path or bytes")
    with open(given, "rb") as file:
        return file.read()


def _checked(otherwise: str, load: Callable[[ssl.SSLContext], None]) -> None:
    """gRPC takes anything and fails at the first call without saying why."""
    try:
        load(ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT))
    except (ssl.SSLError, ValueError) as error:
        raise ValueError(f"{otherwise}: {error}") from None


@contextlib.contextmanager
def _in_memory(content: bytes) -> Iterator[str]:
    """A path to it that is on no disk."""
    handle = os.memfd_create("coilwright")
    try:
        os.write(handle, content)
        yield f"/proc/self/fd/{handle}"
    finally:
        os.close(handle)
