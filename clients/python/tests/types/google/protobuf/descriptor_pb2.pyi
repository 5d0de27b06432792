from google.protobuf.internal.containers import RepeatedCompositeFieldContainer
from google.protobuf.message import Message

class FieldDescriptorProto(Message):
    type_name: str

class DescriptorProto(Message):
    name: str
    field: RepeatedCompositeFieldContainer[FieldDescriptorProto]

class FileDescriptorProto(Message):
    message_type: RepeatedCompositeFieldContainer[DescriptorProto]
    def __init__(self, name: str = ..., package: str = ..., syntax: str = ...) -> None: ...
