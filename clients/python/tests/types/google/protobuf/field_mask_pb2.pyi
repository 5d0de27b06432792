from google.protobuf.internal.containers import RepeatedScalarFieldContainer
from google.protobuf.message import Message

class FieldMask(Message):
    paths: RepeatedScalarFieldContainer[str]
