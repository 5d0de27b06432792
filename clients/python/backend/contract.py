"""The contract as protoc sees it: its modules for Python, and what a generator has to know of its services."""

from __future__ import annotations

import dataclasses
import pathlib
import shutil
import subprocess
from collections.abc import Iterator

Fields = list[tuple[int, int | bytes]]


@dataclasses.dataclass(frozen=True)
class Method:
    name: str
    comment: str
    request: str
    answer: str
    client_streams: bool
    server_streams: bool


@dataclasses.dataclass(frozen=True)
class Service:
    name: str
    comment: str
    methods: list[Method]


@dataclasses.dataclass(frozen=True)
class File:
    path: pathlib.PurePosixPath  # below the folder of the contract
    names: list[str]  # messages, enums and the values of the enums, as they stand in the module
    services: list[Service]

    @property
    def module(self) -> str:
        """"rule_service_pb2"."""
        return f"{self.path.stem}_pb2"


def compile_protos(proto: pathlib.Path, out: pathlib.Path) -> list[File]:
    """Runs protoc over every file below `proto` and says what is in them."""
    paths = sorted(path.relative_to(proto).as_posix() for path in proto.rglob("*.proto"))
    if not paths:
        raise SystemExit(f"coilwright: no .proto files in {proto}: install from a whole clone or an sdist")
    descriptors = out / "descriptors"
    command = [
        _program("protoc", "protobuf-compiler libprotobuf-dev"),
        f"--plugin=protoc-gen-grpc_python={_program('grpc_python_plugin', 'protobuf-compiler-grpc')}",
        f"-I{proto}",
        *(f"--{kind}_out={out}" for kind in ("python", "pyi", "grpc_python")),
        f"--descriptor_set_out={descriptors}",
        "--include_source_info",
        *paths,
    ]
    run = subprocess.run(command, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    if run.returncode != 0:
        raise SystemExit(f"coilwright: protoc failed:\n{run.stdout}")
    # protoc has them in the order of their imports.
    files = sorted(map(_file, _messages(_fields(descriptors.read_bytes()), 1)), key=lambda file: file.path)
    descriptors.unlink()
    for file in files:
        if not file.services:  # the plugin writes an empty module
            (out / file.path).with_name(f"{file.module}_grpc.py").unlink()
    return files


def _program(name: str, packages: str) -> str:
    path = shutil.which(name)
    if path is None:
        raise SystemExit(f"coilwright: {name} is not installed; on Debian: apt-get install {packages}")
    return path


# What follows reads a FileDescriptorSet by its field numbers, which never change: the library that knows it is not
# there while a package is built.


def _file(content: bytes) -> File:
    fields = _fields(content)
    names = []
    for message in _messages(fields, 4):
        names.append(_text(_fields(message), 1))
    for enum in map(_fields, _messages(fields, 5)):
        names.append(_text(enum, 1))
        names += [_text(_fields(value), 1) for value in _messages(enum, 2)]
    comments = {}
    for info in _messages(fields, 9):
        for location in map(_fields, _messages(_fields(info), 1)):
            comments[tuple(_varints(b"".join(_messages(location, 1))))] = _text(location, 3)
    services = []
    for s, service in enumerate(map(_fields, _messages(fields, 6))):
        methods = [
            Method(_text(method, 1), comments.get((6, s, 2, m), ""), _short(_text(method, 2)), _short(_text(method, 3)),
                   (5, 1) in method, (6, 1) in method)
            for m, method in enumerate(map(_fields, _messages(service, 2)))
        ]
        services.append(Service(_text(service, 1), comments.get((6, s), ""), methods))
    return File(pathlib.PurePosixPath(_text(fields, 1)), names, services)


def _fields(content: bytes) -> Fields:
    """Fields of a message in their order: varints and what has a length; a descriptor holds nothing else."""
    fields: Fields = []
    at = 0
    while at < len(content):
        key, at = _varint(content, at)
        value, at = _varint(content, at)
        if key & 7 == 0:
            fields.append((key >> 3, value))
        elif key & 7 == 2:
            fields.append((key >> 3, content[at:at + value]))
            at += value
        else:
            raise ValueError(f"wire type {key & 7} in a descriptor")
    return fields


def _varint(content: bytes, at: int) -> tuple[int, int]:
    value = shift = 0
    while True:
        byte = content[at]
        value |= (byte & 0x7F) << shift
        at += 1
        shift += 7
        if byte < 0x80:
            return value, at


def _varints(content: bytes) -> Iterator[int]:
    at = 0
    while at < len(content):
        value, at = _varint(content, at)
        yield value


def _messages(fields: Fields, number: int) -> list[bytes]:
    return [value for field, value in fields if field == number and isinstance(value, bytes)]


def _text(fields: Fields, number: int) -> str:
    return "".join(value.decode() for value in _messages(fields, number))


def _short(type_name: str) -> str:
    return type_name.rpartition(".")[2]
