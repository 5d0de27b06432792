"""A stream both ways as one loop over its answers."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from types import TracebackType
from typing import Any, Generic, TypeVar

import grpc
from google.protobuf.message import Message

from coilwright.errors import ServiceError

Answer = TypeVar("Answer", bound=Message)


class Stream(Generic[Answer]):
    """Answers as they come. What feeds it is read in a thread of its own, as fast as the server takes it.

    The end of what feeds it closes our side: the server sums up, and the loop ends with its last answer. Leaving the
    loop early cancels the call, and so do close() and the end of a with block. An exception of what feeds it, or
    something in it that is no message, ends the call and comes out of the loop.
    """

    def __init__(self, start: Callable[[Iterator[Message]], Any], as_message: Callable[[Any], Message],
                 requests: Iterable[Any], error_of: Callable[[Any], ServiceError]) -> None:
        self._as_message = as_message
        self._requests = requests
        self._error_of = error_of
        self._fault: BaseException | None = None
        self._closed = False
        self._started = threading.Event()
        self._call = start(self._messages())
        self._started.set()
        self._answers = self._read()

    def __iter__(self) -> Iterator[Answer]:
        try:
            yield from self._answers
        finally:
            self.close()

    def __next__(self) -> Answer:
        return next(self._answers)

    def close(self) -> None:
        """Cancels what still runs. A stream that has ended stays as it is."""
        self._closed = True
        self._call.cancel()

    def __enter__(self) -> Stream[Answer]:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def _messages(self) -> Iterator[Message]:
        """Runs in the thread of gRPC that sends; it would only log an exception."""
        self._started.wait()
        try:
            for given in self._requests:
                yield self._as_message(given)
        except GeneratorExit:  # the call has ended
            raise
        except BaseException as fault:  # whatever it is, it belongs to who reads the answers
            self._fault = fault
            self._call.cancel()

    def _read(self) -> Iterator[Answer]:
        try:
            yield from self._call
        except grpc.RpcError as error:
            if self._fault is not None:
                raise self._fault from None
            if not self._closed:
                raise self._error_of(error) from None
        if self._fault is not None:
            raise self._fault
