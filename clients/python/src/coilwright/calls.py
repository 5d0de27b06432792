"""How every call is made: a message of what was given, a deadline, one exception."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

import grpc
from google.protobuf.message import Message

from coilwright.errors import error_of_call
from coilwright.messages import as_message
from coilwright.streams import Stream

Request = TypeVar("Request", bound=Message)
Answer = TypeVar("Answer", bound=Message)


class Calls:
    """Calls over one channel. Any thread may make them."""

    def __init__(self, channel: grpc.Channel, address: str, secure: bool, deadline_seconds: float) -> None:
        self.channel = channel
        self.address = address
        self.secure = secure
        self._deadline_seconds = checked_seconds(deadline_seconds)
        self._closed = False

    def close(self) -> None:
        self._closed = True
        self.channel.close()

    def check_open(self) -> None:
        if self._closed:
            raise ValueError("the client is closed")

    def unary(self, method: Callable[..., Answer], request_type: type[Request], request: Request | Mapping[str, Any],
              deadline_seconds: float | None) -> Answer:
        message = _with_request_id(as_message(request_type, request))
        seconds = self._deadline_seconds if deadline_seconds is None else checked_seconds(deadline_seconds)
        self.check_open()
        try:
            return method(message, timeout=seconds)
        except grpc.RpcError as error:
            raise error_of_call(error, self.address, self.secure, getattr(message, "request_id", "")) from None

    def stream(self, method: Callable[..., Any], request_type: type[Request],
               requests: Iterable[Request | Mapping[str, Any]], deadline_seconds: float | None) -> Stream[Any]:
        if isinstance(requests, Message | Mapping | str | bytes) or not isinstance(requests, Iterable):
            raise TypeError(
                f"got {type(requests).__name__}, accepted: an iterable of {request_type.DESCRIPTOR.name} or dicts")
        seconds = None if deadline_seconds is None else checked_seconds(deadline_seconds)
        self.check_open()
        return Stream(lambda messages: method(messages, timeout=seconds), lambda given: as_message(request_type, given),
                      requests, lambda error: error_of_call(error, self.address, self.secure))


def checked_seconds(seconds: float) -> float:
    """gRPC takes a time beyond its clock for one that has passed."""
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not 0 < seconds <= 1e9:
        raise ValueError(f"deadline_seconds: got {seconds!r:.60}, accepted: a number above 0, at most 1e9")
    return seconds


def _with_request_id(message: Request) -> Request:
    """A write gets an id where it has none, so that sending it again makes it once."""
    if getattr(message, "request_id", None) != "":
        return message
    copy = type(message)()
    copy.CopyFrom(message)
    setattr(copy, "request_id", uuid.uuid4().hex)
    return copy
