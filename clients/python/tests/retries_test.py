"""Which calls are sent again, and how a connection is held."""

import importlib.resources
import json
import pathlib
import re
import threading
import time
import unittest
from typing import Any

import grpc

import coilwright
from coilwright import client, v1
from coilwright.v1 import job_service_pb2_grpc, rule_service_pb2_grpc, test_limit_service_pb2_grpc
from support import Daemon, free_port, methods, python_server

ROOT = pathlib.Path(__file__).resolve().parents[3]
CONFIG = json.loads(importlib.resources.files("coilwright").joinpath("service_config.json").read_text())


class Unsteady:
    """Fails the first calls of each kind with a code."""

    def __init__(self, failures: int, code: grpc.StatusCode) -> None:
        self.failures = failures
        self.code = code
        self.requests: list[Any] = []

    def seen(self, request: Any, context: Any, answer: Any) -> Any:
        self.requests.append(request)
        if len(self.requests) <= self.failures:
            context.abort(self.code, "not now")
        return answer

    def GetRule(self, request: Any, context: Any) -> Any:
        return self.seen(request, context, v1.GetRuleResponse(data_revision="r"))

    def ListRules(self, request: Any, context: Any) -> Any:
        raise NotImplementedError

    def StreamTestLimits(self, requests: Any, context: Any) -> Any:
        for request in requests:
            yield self.seen(request, context, v1.StreamTestLimitsResponse())

    def __getattr__(self, name: str) -> Any:
        # Methods of the other services: all answer alike.
        answers = {"CreateJob": v1.CreateJobResponse}
        return lambda request, context: self.seen(request, context, answers[name]())

    def add_to(self, server: grpc.Server) -> None:
        rule_service_pb2_grpc.add_RuleServiceServicer_to_server(self, server)  # type: ignore[arg-type]
        test_limit_service_pb2_grpc.add_TestLimitServiceServicer_to_server(self, server)  # type: ignore[arg-type]
        job_service_pb2_grpc.add_JobServiceServicer_to_server(self, server)  # type: ignore[arg-type]


class Retries(unittest.TestCase):
    def test_a_server_that_starts_late_is_met(self) -> None:
        port = free_port()
        started: list[Daemon] = []
        late = threading.Timer(0.7, lambda: started.append(Daemon(port=port)))
        late.start()
        begun = time.monotonic()
        with coilwright.connect(f"127.0.0.1:{port}") as shop:
            self.assertTrue(shop.rule.list_rules({}).rules)
        self.assertGreater(time.monotonic() - begun, 0.5)
        late.join()
        started[0].kill()

    def test_a_server_that_is_started_anew_is_met_by_the_same_client(self) -> None:
        port = free_port()
        first = Daemon(port=port)
        with coilwright.connect(first.address) as shop:
            self.assertTrue(shop.rule.list_rules({}).rules)
            first.kill()
            second = Daemon(port=port)
            self.addCleanup(second.kill)
            self.assertTrue(shop.rule.list_rules({}).rules)

    def test_unavailable_is_asked_again(self) -> None:
        server = Unsteady(2, grpc.StatusCode.UNAVAILABLE)
        with python_server(server.add_to) as address, coilwright.connect(address) as shop:
            self.assertEqual(shop.rule.get_rule({}).data_revision, "r")
        self.assertEqual(len(server.requests), 3)

    def test_a_write_is_sent_again_under_one_request_id(self) -> None:
        server = Unsteady(2, grpc.StatusCode.UNAVAILABLE)
        with python_server(server.add_to) as address, coilwright.connect(address) as shop:
            shop.job.create_job({})
            shop.job.create_job({})
        ids = [request.request_id for request in server.requests]
        self.assertEqual(len(ids), 4)
        self.assertEqual(len(set(ids[:3])), 1)
        self.assertTrue(ids[0])
        self.assertNotEqual(ids[0], ids[3])

    def test_nothing_else_is_asked_again(self) -> None:
        for code in (grpc.StatusCode.RESOURCE_EXHAUSTED, grpc.StatusCode.ABORTED, grpc.StatusCode.INTERNAL,
                     grpc.StatusCode.FAILED_PRECONDITION):
            server = Unsteady(1, code)
            with self.subTest(code), python_server(server.add_to) as address, coilwright.connect(address) as shop:
                with self.assertRaises(coilwright.ServiceError) as caught:
                    shop.rule.get_rule({})
                self.assertIs(caught.exception.code, code)
                self.assertEqual(len(server.requests), 1)

    def test_a_stream_is_never_sent_again(self) -> None:
        server = Unsteady(1, grpc.StatusCode.UNAVAILABLE)
        with python_server(server.add_to) as address, coilwright.connect(address) as shop:
            with self.assertRaises(coilwright.ServiceError) as caught:
                list(shop.test_limit.stream_test_limits([{}]))
        self.assertIs(caught.exception.code, grpc.StatusCode.UNAVAILABLE)
        self.assertEqual(len(server.requests), 1)


class Configuration(unittest.TestCase):
    def test_every_call_and_no_stream_is_in_it(self) -> None:
        (policy,) = CONFIG["methodConfig"]
        named = {(name["service"], name.get("method")) for name in policy["name"]}
        known = set()
        for service, method in methods():
            entries = {(service.full_name, None), (service.full_name, method.name)}
            self.assertEqual(bool(named & entries), not method.client_streaming, method.full_name)
            known |= entries
        self.assertLessEqual(named, known)

    def test_what_writes_has_a_request_id(self) -> None:
        archive = ("ArchiveService", "JobService", "WindingArchiveService")
        reads = re.compile("Get|List|Find|Compare|Export|Import")  # an import passes over what is there
        for service, method in methods():
            if service.name in archive and not reads.match(method.name):
                self.assertIn("request_id", method.input_type.fields_by_name, method.full_name)

    def test_pings_are_fewer_than_the_server_permits(self) -> None:
        source = (ROOT / "service" / "rpc" / "server.cc").read_text()
        permitted = re.search(r"MIN_RECV_PING_INTERVAL_WITHOUT_DATA_MS, (\d+)", source)
        assert permitted is not None
        self.assertGreaterEqual(dict(client._OPTIONS)["grpc.keepalive_time_ms"], int(permitted[1]) * 1.2)


if __name__ == "__main__":
    unittest.main()
