"""Messages from plain dicts and back: proto3 JSON with the field names of the .proto files."""

from __future__ import annotations

import difflib
import math
import numbers
import re
from collections.abc import Mapping
from typing import Any, TypeVar

from google.protobuf import descriptor_pb2, descriptor_pool, json_format
from google.protobuf.descriptor import Descriptor, EnumDescriptor, FieldDescriptor
from google.protobuf.message import Message

from coilwright import v1

AnyMessage = TypeVar("AnyMessage", bound=Message)

_WHOLE = {FieldDescriptor.CPPTYPE_INT32, FieldDescriptor.CPPTYPE_INT64, FieldDescriptor.CPPTYPE_UINT32,
          FieldDescriptor.CPPTYPE_UINT64}
_FRACTIONS = {FieldDescriptor.CPPTYPE_DOUBLE, FieldDescriptor.CPPTYPE_FLOAT}


def to_dict(message: Message) -> dict[str, Any]:
    """A message as plain dicts and lists. What is unset is left out, enums are their names, times are texts."""
    return json_format.MessageToDict(message, preserving_proto_field_name=True, descriptor_pool=_DETAILS)


def from_dict(message_type: type[AnyMessage], values: Mapping[str, Any]) -> AnyMessage:
    """A message of plain dicts and lists; messages may stand among them. A key with None is left out.

    ValueError names every wrong key and value by its path, with what would be accepted.
    """
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
        return values  # times and field masks are texts
    if not isinstance(values, Mapping):
        wrong.append(f"{path or 'it'}: got {_shown(values)}, accepted: a dict with {_names(message)}")
        return None
    fields: dict[str, FieldDescriptor] = dict(message.fields_by_camelcase_name) | dict(message.fields_by_name)
    plain = {}
    for key, value in values.items():
        place = f"{path}.{key}" if path else str(key)
        field = fields.get(key) if isinstance(key, str) else None
        if field is None:
            near = difflib.get_close_matches(str(key), message.fields_by_name, 1)
            nearest = f", the nearest is {near[0]}" if near else ""
            wrong.append(f"{place}: no such key{nearest}; accepted: {_names(message)}")
        elif value is None:
            continue
        elif field.label != FieldDescriptor.LABEL_REPEATED:
            plain[key] = _value(field, value, place, wrong)
        elif isinstance(value, Mapping | str | bytes) or not hasattr(value, "__iter__"):
            wrong.append(f"{place}: got {_shown(value)}, accepted: a list")
        else:
            plain[key] = [_value(field, item, f"{place}[{i}]", wrong) for i, item in enumerate(value)]
    for choice in message.oneofs:
        chosen = [key for key in plain if fields[key].containing_oneof is choice]
        if len(chosen) > 1:
            wrong.append(f"{path or 'it'}: got {' and '.join(chosen)}, accepted: one of them")
    return plain


def _value(field: FieldDescriptor, value: Any, path: str, wrong: list[str]) -> Any:
    kind = field.cpp_type
    if kind == FieldDescriptor.CPPTYPE_MESSAGE:
        return _object(field.message_type, value, path, wrong)
    accepted = ""
    if kind == FieldDescriptor.CPPTYPE_ENUM:
        if _is_number(value, whole=True):
            return int(value)
        if not isinstance(value, str) or value not in field.enum_type.values_by_name:
            accepted = _enum_names(field.enum_type)
    elif kind == FieldDescriptor.CPPTYPE_BOOL:
        if not isinstance(value, bool):
            accepted = "True or False"
    elif kind in _WHOLE:
        if _is_number(value, whole=True):
            return int(value)
        # The JSON of protobuf has whole numbers of 64 bits as texts.
        if not isinstance(value, str) or re.fullmatch("-?[0-9]{1,20}", value) is None:
            accepted = "a whole number"
    elif kind in _FRACTIONS:
        if _is_number(value, whole=False):
            return float(value)
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


def _is_number(value: Any, whole: bool) -> bool:
    if isinstance(value, bool) or not isinstance(value, numbers.Real):
        return False
    return math.isfinite(value) and (not whole or float(value).is_integer())


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
