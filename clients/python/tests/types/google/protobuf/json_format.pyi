from typing import Any, TypeVar

from google.protobuf.descriptor_pool import DescriptorPool
from google.protobuf.message import Message

AnyMessage = TypeVar("AnyMessage", bound=Message)

class ParseError(Exception): ...

def MessageToDict(message: Message, *, preserving_proto_field_name: bool = ...,
                  descriptor_pool: DescriptorPool | None = ...) -> dict[str, Any]: ...
def ParseDict(js_dict: Any, message: AnyMessage, *, descriptor_pool: DescriptorPool | None = ...) -> AnyMessage: ...
