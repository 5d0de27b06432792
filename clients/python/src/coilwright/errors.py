"""One exception for everything a call can fail with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import grpc
from google.protobuf.message import DecodeError

from coilwright import v1

_CODES = {code.value[0]: code for code in grpc.StatusCode}
_BAD_REQUEST = "/google.rpc.BadRequest"


class Violation(NamedTuple):
    """One wrong field of a request."""

    field: str
    description: str


class ServiceError(Exception):
    """A call that was not answered.

    code         of gRPC: code.name is "INVALID_ARGUMENT", "UNAVAILABLE", ...
    message      for a person
    violations   one for every wrong field, with what was given and what would be accepted
    request_id   of a write: whether it was made is not known after UNAVAILABLE and DEADLINE_EXCEEDED; the same request
                 with this id is made once, however often it is sent
    """

    def __init__(self, code: grpc.StatusCode, message: str, violations: Iterable[Violation] = (),
                 request_id: str = "") -> None:
        self.code = code
        self.message = message
        self.violations = list(violations)
        self.request_id = request_id
        super().__init__(code, message, self.violations, request_id)

    def __str__(self) -> str:
        lines = [": ".join(part for part in violation if part) for violation in self.violations]
        return f"{self.code.name}: " + ("\n  ".join(["", *lines]).lstrip() if lines else self.message)

    @classmethod
    def of_status(cls, status: v1.StatusDetails) -> ServiceError:
        """The same of one item of a stream, whose answer carries a status."""
        if not isinstance(status, v1.StatusDetails):
            raise TypeError(f"status: got {type(status).__name__}, accepted: the status of an answer")
        return cls(_CODES.get(status.code, grpc.StatusCode.UNKNOWN), status.message, _violations(status))


def error_of_call(error: Any, address: str, secure: bool, request_id: str = "") -> ServiceError:
    """What a failed call of gRPC says."""
    code, message = error.code(), error.details() or ""
    details = v1.StatusDetails()
    for key, value in error.trailing_metadata() or ():
        if key == "grpc-status-details-bin":
            try:
                details.ParseFromString(value)
            except DecodeError:
                pass  # of a server that is none of ours: code and message stand
    answered = details.code != 0
    if code is grpc.StatusCode.UNAVAILABLE and not answered:
        message = f"no answer from {address}: {message or 'no reason given'}{_hint(message, secure)}"
    elif code is grpc.StatusCode.DEADLINE_EXCEEDED and not answered:
        message = f"no answer from {address} within the deadline; deadline_seconds gives it longer"
    elif code is grpc.StatusCode.CANCELLED and message == "Channel closed!":
        message = "cancelled by close() of the client"
    elif code is grpc.StatusCode.UNIMPLEMENTED:
        message = f"{address} does not know this call{': ' if message else ''}{message}"
    return ServiceError(code, message, _violations(details), request_id)


def _hint(message: str, secure: bool) -> str:
    """What a connection that did not come about may lack: gRPC names the broken rule, or nothing at all."""
    if "certificate verify failed" in message:
        return " (is the certificate of the server signed by this ca, and still valid?)"
    if "wrong version number" in message:
        return " (does the server speak plain text? then leave ca out)"
    if "not in peer certificate" in message:
        return " (reach the server by a name that stands in its certificate)"
    if message.startswith("failed to connect") and ("ocket closed" in message or "reset by peer" in message):
        ours = "a certificate of ours, of an authority that it trusts and not out of date?"
        return f" (does the server want {ours if secure else 'TLS? then give ca'})"
    return ""


def _violations(details: v1.StatusDetails) -> list[Violation]:
    violations = []
    for detail in details.details:
        if not detail.type_url.endswith(_BAD_REQUEST):
            continue
        try:
            wrong = v1.FieldViolations.FromString(detail.value)
        except DecodeError:
            continue
        violations += [Violation(violation.field, violation.description) for violation in wrong.field_violations]
    return violations
