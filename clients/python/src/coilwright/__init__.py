"""Client of the Coilwright service: winding data for motor repair shops.

    with coilwright.connect("127.0.0.1:7360") as shop:
        limits = shop.test_limit.get_test_limits({"rated_volts": 400, "rated_power": {"kw": 3}})

Requests are messages of coilwright.v1 or plain dicts, answers are messages; to_dict makes dicts of them.

Test voltages, stored charge, magnets and ovens hurt people: show the cautions of an answer where its levels are shown.
Local codes and a qualified person decide whether and how a test is done.
"""

from coilwright import v1 as v1
from coilwright.client import Client as Client, connect as connect
from coilwright.documents import write_document as write_document
from coilwright.errors import ServiceError as ServiceError, Violation as Violation
from coilwright.messages import from_dict as from_dict, to_dict as to_dict
from coilwright.streams import Stream as Stream
