import datetime

from google.protobuf.message import Message

class Timestamp(Message):
    seconds: int
    nanos: int
    def ToDatetime(self, tzinfo: datetime.tzinfo | None = ...) -> datetime.datetime: ...
