"""Messages from plain dicts and back: proto3 JSON with the field names of the .proto files."""

from __future__ import annotations

import datetime
import difflib
import math
import numbers
import re
from collections.abc import Mapping
from typing import Any, TypeVar

from google.protobuf import descriptor_pb2, descriptor_pool, field_mask_pb2, json_format, timestamp_pb2
from google.protobuf.descriptor import Descriptor, EnumDescriptor, FieldDescriptor
from google.protobuf.message import Message

from coilwright import v1

AnyMessage = TypeVar("AnyMessage", bound=Message)

_INT32 = (-2**31, 2**31 - 1)
_WHOLE = {FieldDescriptor.CPPTYPE_INT32: _INT32, FieldDescriptor.CPPTYPE_INT64: (-2**63, 2**63 - 1),
          FieldDescriptor.CPPTYPE_UINT32: (0, 2**32 - 1), FieldDescriptor.CPPTYPE_UINT64: (0, 2**64 - 1)}
_TEXTS: dict[str, tuple[type[Message], str]] = {
    "google.protobuf.Timestamp": (timestamp_pb2.Timestamp,
                                  "a time as in '2026-03-31T08:00:00Z', or a datetime with its zone"),
    "google.protobuf.FieldMask": (field_mask_pb2.FieldMask, "field names with commas between them")}
_FRACTIONS = {FieldDescriptor.CPPTYPE_DOUBLE, FieldDescriptor.CPPTYPE_FLOAT}


def to_dict(message: Message) -> dict[str, Any]:
    """A message as plain dicts and lists. What is unset is left out, enums are their names, times are texts."""
    if not isinstance(message, Message):
        raise TypeError(f"message: got {type(message).__name__}, accepted: a message of coilwright.v1")
    return json_format.MessageToDict(message, preserving_proto_field_name=True, descriptor_pool=_DETAILS)


def from_dict(message_type: type[AnyMessage], values: Mapping[str, Any]) -> AnyMessage:
    """A message of plain dicts and lists; messages may stand among them. A key with None is left out.

    ValueError names every wrong key and value by its path, with what would be accepted.
    """
    if not (isinstance(message_type, type) and issubclass(message_type, Message)):
        raise TypeError(f"message_type: got {_shown(message_type)}, accepted: a message type of coilwright.v1")
    wrong: list[str] = []
    plain = _object(message_type.DESCRIPTOR, values, "", wrong)
    if not wrong:
        try:
            return json_format.ParseDict(plain, message_type(), descriptor_pool=_DETAILS)
        except json_format.ParseError as error:
            wrong.append(str(error))
    raise ValueError(f"{message_type.DESCRIPTOR.name}: " + "\n  ".join(wrong))


def as_message(message_type: type[AnyMessage], given: AnyMessage | Mapping[str, Any]) -> AnyMessage:
    """The message itself, or made of a dict."""
    if isinstance(given, message_type):
        return given
    if isinstance(given, Mapping):
        return from_dict(message_type, given)
    raise TypeError(f"got {type(given).__name__}, accepted: {message_type.DESCRIPTOR.name} or a dict")


def _object(message: Descriptor, values: Any, path: str, wrong: list[str]) -> Any:
    """Values as the parser of protobuf takes them. What it would refuse without saying where is told in `wrong`."""
    if isinstance(values, Message):
        if values.DESCRIPTOR is not message:
            wrong.append(f"{path}: got {values.DESCRIPTOR.name}, accepted: {message.name}")
            return None
        return to_dict(values)
    if message.file.package != "coilwright.v1":
        return _common(message, values, path, wrong)
    if not isinstance(values, Mapping):
        wrong.append(f"{path or 'it'}: got {_shown(values)}, accepted: a dict with {_names(message)}")
        return None
    fields: dict[str, FieldDescriptor] = dict(message.fields_by_camelcase_name) | dict(message.fields_by_name)
    plain = {}
    for key, value in values.items():
        name = key if isinstance(key, str) and len(key) <= 60 else _shown(key)
        place = f"{path}.{name}" if path else name
        field = fields.get(key) if isinstance(key, str) else None
        if field is None:
            near = difflib.get_close_matches(name, message.fields_by_name, 1)
            nearest = f", the nearest is {near[0]}" if near else ""
            wrong.append(f"{place}: no such key{nearest}; accepted: {_names(message)}")
        elif value is None:
            continue
        elif field.name in plain:
            wrong.append(f"{place}: given twice, accepted: {field.name} alone")
        elif field.label != FieldDescriptor.LABEL_REPEATED:
            plain[field.name] = _value(field, value, place, wrong)
        elif isinstance(value, Mapping | str | bytes) or not hasattr(value, "__iter__"):
            wrong.append(f"{place}: got {_shown(value)}, accepted: a list")
        else:
            plain[field.name] = [_value(field, item, f"{place}[{i}]", wrong) for i, item in enumerate(value)]
    for choice in message.oneofs:
        chosen = [name for name in plain if fields[name].containing_oneof is choice]
        if len(chosen) > 1:
            wrong.append(f"{path or 'it'}: got {' and '.join(chosen)}, accepted: one of them")
    return plain


def _common(message: Descriptor, values: Any, path: str, wrong: list[str]) -> Any:
    """Times and field masks, texts in JSON. The service names fields as the .proto files do, the JSON of masks does not."""
    if message.full_name not in _TEXTS:
        return values
    kind, accepted = _TEXTS[message.full_name]
    if isinstance(values, datetime.datetime) and values.tzinfo is not None:
        values = values.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    plain = values
    if kind is field_mask_pb2.FieldMask and isinstance(values, str):
        plain = re.sub("_([a-z])", lambda found: found[1].upper(), values)
    try:
        json_format.ParseDict(plain, kind())
    except (json_format.ParseError, ValueError):
        wrong.append(f"{path}: got {_shown(values)}, accepted: {accepted}")
    return plain


def _value(field: FieldDescriptor, value: Any, path: str, wrong: list[str]) -> Any:
    kind = field.cpp_type
    if kind == FieldDescriptor.CPPTYPE_MESSAGE:
        return _object(field.message_type, value, path, wrong)
    accepted = ""
    if kind == FieldDescriptor.CPPTYPE_ENUM:
        # A newer server may have answered with a number that has no name here.
        if _is_whole(value, *_INT32):
            return int(value)
        if not isinstance(value, str) or value not in field.enum_type.values_by_name:
            accepted = _enum_names(field.enum_type)
    elif kind == FieldDescriptor.CPPTYPE_BOOL:
        if not isinstance(value, bool):
            accepted = "True or False"
    elif kind in _WHOLE:
        least, greatest = _WHOLE[kind]
        # The JSON of protobuf has whole numbers of 64 bits as texts.
        number = int(value) if isinstance(value, str) and re.fullmatch("-?[0-9]{1,20}", value) else value
        if _is_whole(number, least, greatest):
            return int(number)
        accepted = f"a whole number from {least} to {greatest}"
    elif kind in _FRACTIONS:
        number = _finite(value)
        if number is not None:
            return number
        accepted = "a finite number"
    elif not isinstance(value, str):
        accepted = "a text"
    else:
        try:
            value.encode()
        except UnicodeEncodeError:
            accepted = "a text without half characters (lone surrogates)"
    if accepted:
        wrong.append(f"{path}: got {_shown(value)}, accepted: {accepted}")
    return value


def _finite(value: Any) -> float | None:
    """The number as the contract has it, or None where it is none."""
    if isinstance(value, bool) or not isinstance(value, numbers.Real):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _is_whole(value: Any, least: int, greatest: int) -> bool:
    number = _finite(value)
    return number is not None and number.is_integer() and least <= value <= greatest


def _shown(value: Any) -> str:
    text = ascii(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _names(message: Descriptor) -> str:
    return ", ".join(message.fields_by_name)


def _enum_names(enum: EnumDescriptor) -> str:
    return ", ".join(value.name for value in enum.values if value.number != 0)


def _pool_of_details() -> descriptor_pool.DescriptorPool:
    """Knows the details of a status under their common name; status.proto says why they have two. It is a pool of our
    own: the common one may hold the original.
    """
    file = descriptor_pb2.FileDescriptorProto(name="coilwright/details.proto", package="google.rpc", syntax="proto3")
    message = file.message_type.add()
    v1.FieldViolations.DESCRIPTOR.CopyToProto(message)
    message.name = "BadRequest"
    message.field[0].type_name = ".google.rpc.BadRequest.FieldViolation"
    pool = descriptor_pool.DescriptorPool()
    pool.AddSerializedFile(file.SerializeToString())
    return pool


_DETAILS = _pool_of_details()
