from google.protobuf.message import Message

class Any(Message):
    type_url: str
    value: bytes
