"""What is written of the contract beside the modules of protoc: typed classes, one for each service."""

from __future__ import annotations

import pathlib
import re
import textwrap

from contract import File, Method, Service

_WIDTH = 110


def write_modules(files: list[File], package: pathlib.Path) -> None:
    """v1/__init__.py with every name of the contract, services.py with its services, types for the stubs of gRPC."""
    with_services = [file for file in files if file.services]
    (package / "v1" / "__init__.py").write_text(_names(files))
    (package / "services.py").write_text(_services(with_services))
    for file in with_services:
        (package / "v1" / f"{file.module}_grpc.pyi").write_text(_stub_types(file))


def _names(files: list[File]) -> str:
    parts = ['"""Every message and enum of the contract under its own name."""\n']
    for file in files:
        if file.names:
            names = "".join(f"    {name} as {name},\n" for name in file.names)
            parts.append(f"from coilwright.v1.{file.module} import (\n{names})\n")
    return "".join(parts)


def _services(files: list[File]) -> str:
    services = [(file, service) for file in files for service in file.services]
    modules = "".join(f"    {file.module}_grpc,\n" for file in files)
    parts = [
        '"""The services of the contract, one class each."""\n\n'
        "from __future__ import annotations\n\n"
        "from collections.abc import Iterable, Mapping\n"
        "from typing import Any\n\n"
        "from coilwright import v1\n"
        "from coilwright.calls import Calls\n"
        "from coilwright.streams import Stream\n"
        f"from coilwright.v1 import (\n{modules})\n"
    ]
    for file, service in services:
        parts.append(
            f"\n\nclass {service.name}:\n{_docstring(service.comment, 4)}\n"
            "    def __init__(self, calls: Calls) -> None:\n"
            "        self._calls = calls\n"
            f"        self._stub = {file.module}_grpc.{service.name}Stub(calls.channel)\n"
        )
        parts += [_method(method) for method in service.methods]
    parts.append('\n\nclass Services:\n    """Every service of the contract."""\n\n'
                 "    def __init__(self, calls: Calls) -> None:\n")
    parts += [f"        self.{attribute_name(service)} = {service.name}(calls)\n" for _, service in services]
    return "".join(parts)


def attribute_name(service: Service) -> str:
    """"TestLimitService" is test_limit of a client."""
    return _snake(service.name.removesuffix("Service"))


def _method(method: Method) -> str:
    if method.client_streams != method.server_streams:
        raise SystemExit(f"coilwright: {method.name} streams one way; generate.py knows calls and streams both ways")
    stream = method.client_streams
    request = f"v1.{method.request} | Mapping[str, Any]"
    taken = f"requests: Iterable[{request}]" if stream else f"request: {request}"
    given = f"Stream[v1.{method.answer}]" if stream else f"v1.{method.answer}"
    call, argument = ("stream", "requests") if stream else ("unary", "request")
    return (
        f"\n    def {_snake(method.name)}(self, {taken}, *,\n"
        f"{' ' * (9 + len(_snake(method.name)))}deadline_seconds: float | None = None) -> {given}:\n"
        f"{_docstring(method.comment, 8)}"
        f"        return self._calls.{call}(self._stub.{method.name}, v1.{method.request}, {argument},"
        " deadline_seconds)\n"
    )


def _stub_types(file: File) -> str:
    messages = sorted({name for service in file.services for method in service.methods
                       for name in (method.request, method.answer)})
    parts = [
        "from collections.abc import Iterator\n\nimport grpc\n\n"
        f"from coilwright.v1.{file.module} import (\n" + "".join(f"    {name},\n" for name in messages) + ")\n"
    ]
    for service in file.services:
        stub = [f"\nclass {service.name}Stub:\n    def __init__(self, channel: grpc.Channel) -> None: ...\n"]
        servicer = [f"\nclass {service.name}Servicer:\n"]
        for method in service.methods:
            sides = (method.client_streams, method.server_streams)
            kind = "".join("Stream" if streams else "Unary" for streams in sides)
            stub.append(f"    {method.name}: grpc.{kind}MultiCallable[{method.request}, {method.answer}]\n")
            taken, given = (f"Iterator[{name}]" if streams else name
                            for name, streams in zip((method.request, method.answer), sides))
            servicer.append(f"    def {method.name}(self, request: {taken}, context: grpc.ServicerContext)"
                            f" -> {given}: ...\n")
        parts += stub + servicer
        parts.append(f"\ndef add_{service.name}Servicer_to_server(servicer: {service.name}Servicer,"
                     " server: grpc.Server) -> None: ...\n")
    return "".join(parts)


def _docstring(comment: str, indent: int) -> str:
    text = comment.strip().replace("\\", "\\\\").replace('"""', '\\"\\"\\"')
    if text.endswith('"'):
        text += " "
    paragraphs = [textwrap.wrap(" ".join(part.split()), _WIDTH - indent) for part in re.split(r"\n\s*\n", text)]
    lines = "\n\n".join("\n".join(lines) for lines in paragraphs)
    quoted = f'"""{lines}\n"""' if "\n" in lines else f'"""{lines}"""'
    return textwrap.indent(quoted, " " * indent) + "\n"


def _snake(name: str) -> str:
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", name).lower()
