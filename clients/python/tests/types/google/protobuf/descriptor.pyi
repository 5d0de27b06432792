from collections.abc import Mapping, Sequence

from google.protobuf.message import Message

class FileDescriptor:
    name: str
    package: str
    services_by_name: Mapping[str, ServiceDescriptor]

class EnumValueDescriptor:
    name: str
    number: int

class EnumDescriptor:
    name: str
    values: Sequence[EnumValueDescriptor]
    values_by_name: Mapping[str, EnumValueDescriptor]

class OneofDescriptor:
    name: str
    fields: Sequence[FieldDescriptor]

class FieldDescriptor:
    CPPTYPE_INT32: int
    CPPTYPE_INT64: int
    CPPTYPE_UINT32: int
    CPPTYPE_UINT64: int
    CPPTYPE_DOUBLE: int
    CPPTYPE_FLOAT: int
    CPPTYPE_BOOL: int
    CPPTYPE_ENUM: int
    CPPTYPE_STRING: int
    CPPTYPE_MESSAGE: int
    LABEL_REPEATED: int
    name: str
    cpp_type: int
    label: int
    message_type: Descriptor
    enum_type: EnumDescriptor
    containing_oneof: OneofDescriptor | None

class Descriptor:
    name: str
    full_name: str
    file: FileDescriptor
    fields: Sequence[FieldDescriptor]
    fields_by_name: Mapping[str, FieldDescriptor]
    fields_by_camelcase_name: Mapping[str, FieldDescriptor]
    oneofs: Sequence[OneofDescriptor]
    def CopyToProto(self, proto: Message) -> None: ...

class MethodDescriptor:
    name: str
    full_name: str
    input_type: Descriptor
    output_type: Descriptor

class ServiceDescriptor:
    name: str
    full_name: str
    methods: Sequence[MethodDescriptor]
