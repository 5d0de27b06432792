"""Streams both ways: as they come, left early, and broken off by either side."""

import itertools
import logging
import subprocess
import sys
import threading
import time
import unittest
from collections.abc import Iterator
from typing import Any

import grpc

import coilwright
from coilwright import v1
from coilwright.v1 import test_limit_service_pb2_grpc
from support import Daemon, LiveTest, python_server

ASKED = {"machines": [{"label": "capper servo", "limits": {"rated_volts": 190}}]}


def until(happens: Any, seconds: float = 5) -> bool:
    end = time.monotonic() + seconds
    while not happens() and time.monotonic() < end:
        time.sleep(0.01)
    return bool(happens())


class Endless:
    """Feeds one message after another until nobody takes them."""

    def __init__(self) -> None:
        self.taken = 0
        self.ended = threading.Event()

    def __iter__(self) -> Iterator[dict[str, Any]]:
        try:
            while True:
                self.taken += 1
                yield ASKED
        finally:
            self.ended.set()


class Streams(LiveTest):
    def ask(self, requests: Any, **more: Any) -> coilwright.Stream[v1.StreamTestLimitsResponse]:
        return self.shop.test_limit.stream_test_limits(requests, **more)

    def test_answers_come_while_it_is_fed(self) -> None:
        answered = threading.Semaphore()

        def asked() -> Iterator[dict[str, Any]]:
            for number in range(100):
                self.assertTrue(answered.acquire(timeout=5), "no answer before the next message")
                yield {"machines": [{"label": str(number), "limits": {"rated_volts": 100 + number}}]}

        labels = []
        for answer in self.ask(asked()):
            labels += [one.label for one in answer.answers]
            answered.release()
        self.assertEqual(labels, [str(number) for number in range(100)])

    def test_thousands_are_answered_in_order(self) -> None:
        asked = ({"machines": [{"label": str(number), "limits": {"rated_volts": 400}}]} for number in range(3000))
        self.assertEqual([one.label for answer in self.ask(asked) for one in answer.answers],
                         [str(number) for number in range(3000)])

    def test_a_run_is_summed_up_when_its_readings_end(self) -> None:
        messages = [{"setup": {"rated_volts": 400, "winding_temperature": {"celsius": 24}}},
                    *({"samples": [{"seconds": second, "test_volts_dc": 500, "insulation_megohms": 1500 + second}]}
                      for second in range(1, 121))]
        answers = list(self.shop.insulation_run.run_insulation_test(messages))
        self.assertEqual([answer.final for answer in answers], [False] * 121 + [True])
        read = [mark.mark_seconds for mark in answers[-1].marks if mark.HasField("insulation_megohms")]
        self.assertEqual(read, [30, 60])
        self.assertEqual(answers[-1].judged.verdict, v1.MEGOHM_VERDICT_PASS)
        self.assertTrue(answers[-1].cautions)

    def test_leaving_the_loop_cancels(self) -> None:
        fed = Endless()
        for _ in self.ask(fed):
            break
        self.assertTrue(fed.ended.wait(5), "still fed after the loop was left")

    def test_an_exception_in_the_loop_cancels(self) -> None:
        fed = Endless()
        with self.assertRaises(KeyError):
            with self.ask(fed) as answers:
                for _ in answers:
                    raise KeyError("bench")
        self.assertTrue(fed.ended.wait(5))

    def test_closing_cancels_and_ends_the_loop(self) -> None:
        fed = Endless()
        stream = self.ask(fed)
        self.assertEqual(next(stream).answers[0].label, "capper servo")
        stream.close()
        self.assertTrue(fed.ended.wait(5))
        self.assertIsInstance(list(stream), list)  # ends, without an error
        stream.close()

    def test_who_does_not_read_is_not_fed_on(self) -> None:
        fed = Endless()
        with self.ask(fed):
            self.assertTrue(until(lambda: self._stands_still(fed)), f"{fed.taken} taken and no end")
            self.assertLess(fed.taken, 20000)

    def _stands_still(self, fed: Endless) -> bool:
        before = fed.taken
        time.sleep(0.2)
        return before > 1 and fed.taken == before

    def test_the_server_ends_it_in_mid_stream(self) -> None:
        answers = []
        with self.assertRaises(coilwright.ServiceError) as caught:
            for answer in self.ask(itertools.chain([ASKED, ASKED, {"machines": []}], Endless())):
                answers.append(answer)
        self.assertEqual(len(answers), 2)
        self.assertIs(caught.exception.code, grpc.StatusCode.INVALID_ARGUMENT)
        self.assertEqual(caught.exception.violations, [("machines", "got 0 machines, accepted: 1 to 256 in a message")])

    def test_a_second_setup_ends_a_run(self) -> None:
        setup = {"setup": {"rated_volts": 400}}
        error = self.error_of(lambda: list(self.shop.insulation_run.run_insulation_test([setup, setup])))
        self.assertIs(error.code, grpc.StatusCode.INVALID_ARGUMENT)

    def test_what_feeds_it_fails(self) -> None:
        def fails(fault: BaseException) -> Iterator[Any]:
            yield ASKED
            raise fault

        for requests, kind, said in ((fails(OSError("the meter does not answer")), OSError, "the meter does not answer"),
                                     (fails(SystemExit("bench off")), SystemExit, "bench off"),
                                     ([ASKED, {"machine": []}], ValueError, "no such key, the nearest is machines"),
                                     ([{"machine": []}], ValueError, "machine: no such key"),
                                     ([7], TypeError, "got int, accepted: StreamTestLimitsRequest or a dict")):
            with self.subTest(said), self.assertNoLogs(level=logging.WARNING), self.assertRaisesRegex(kind, said):
                list(self.ask(requests))

    def test_a_run_whose_meter_fails_is_not_summed_up_as_if_it_had_ended(self) -> None:
        answered = threading.Semaphore(0)

        def readings() -> Iterator[dict[str, Any]]:
            yield {"setup": {"rated_volts": 400}}
            yield {"samples": [{"seconds": 1, "test_volts_dc": 500, "insulation_megohms": 900}]}
            answered.acquire(timeout=5)
            raise OSError("the meter does not answer")

        answers = []
        with self.assertRaisesRegex(OSError, "the meter does not answer"):
            for answer in self.shop.insulation_run.run_insulation_test(readings()):
                answers.append(answer)
                if answer.samples_taken == 1:
                    answered.release()
        self.assertEqual([answer.final for answer in answers], [False, False])

    def test_a_deadline_is_optional(self) -> None:
        begun = time.monotonic()
        error = self.error_of(lambda: list(self.ask(self._one_and_then_nothing(), deadline_seconds=0.3)))
        self.assertIs(error.code, grpc.StatusCode.DEADLINE_EXCEEDED)
        self.assertLess(time.monotonic() - begun, 20)
        # That of the client is for calls: a stream outlasts it.
        with coilwright.connect(self.daemon.address, deadline_seconds=0.1) as shop:
            answers = list(shop.test_limit.stream_test_limits(self._slowly(3, 0.1)))
        self.assertEqual(len(answers), 3)

    def _one_and_then_nothing(self) -> Iterator[dict[str, Any]]:
        yield ASKED
        time.sleep(40)

    def _slowly(self, count: int, seconds: float) -> Iterator[dict[str, Any]]:
        for _ in range(count):
            time.sleep(seconds)
            yield ASKED


class BrokenServer(unittest.TestCase):
    def test_that_is_killed_ends_the_loop_with_an_error(self) -> None:
        daemon = Daemon()
        self.addCleanup(daemon.kill)
        with coilwright.connect(daemon.address) as shop:
            stream = shop.test_limit.stream_test_limits(Endless())
            next(stream)
            daemon.kill()
            with self.assertRaises(coilwright.ServiceError) as caught:
                for _ in stream:
                    pass
        self.assertIs(caught.exception.code, grpc.StatusCode.UNAVAILABLE)

    def test_that_stops_sums_a_run_up_first(self) -> None:
        daemon = Daemon("--archive=none", "--grace_seconds=1")
        self.addCleanup(daemon.kill)
        waits = threading.Event()

        def readings() -> Iterator[dict[str, Any]]:
            yield {"setup": {"rated_volts": 400}}
            yield {"samples": [{"seconds": 1, "test_volts_dc": 500, "insulation_megohms": 900}]}
            waits.wait(10)

        answers = []
        with coilwright.connect(daemon.address) as shop, self.assertRaises(coilwright.ServiceError) as caught:
            for answer in shop.insulation_run.run_insulation_test(readings()):
                answers.append(answer)
                if answer.samples_taken == 1 and not answer.final:
                    daemon.process.terminate()
        waits.set()
        self.assertIs(caught.exception.code, grpc.StatusCode.UNAVAILABLE)
        self.assertTrue(answers[-1].final)

    def test_that_talks_nonsense(self) -> None:
        handler = grpc.method_handlers_generic_handler("coilwright.v1.TestLimitService", {
            "GetTestLimits": grpc.unary_unary_rpc_method_handler(lambda request, context: b"\xff\xff"),
            "StreamTestLimits": grpc.stream_stream_rpc_method_handler(lambda requests, context: iter([b"\xff\xff"]))})
        logging.disable(logging.ERROR)  # gRPC's own word on it
        self.addCleanup(logging.disable, logging.NOTSET)
        with python_server(lambda server: server.add_generic_rpc_handlers((handler,))) as address:
            with coilwright.connect(address) as shop:
                for call in (lambda: shop.test_limit.get_test_limits({}),
                             lambda: list(shop.test_limit.stream_test_limits([ASKED]))):
                    with self.assertRaises(coilwright.ServiceError) as caught:
                        call()
                    self.assertIs(caught.exception.code, grpc.StatusCode.INTERNAL)

    def test_that_gives_details_that_are_none(self) -> None:
        class Nonsense(test_limit_service_pb2_grpc.TestLimitServiceServicer):
            def GetTestLimits(self, request: Any, context: Any) -> Any:
                context.set_trailing_metadata((("grpc-status-details-bin", b"\xff\xff"),))
                context.abort(grpc.StatusCode.DATA_LOSS, "the file was taken away")

        add = test_limit_service_pb2_grpc.add_TestLimitServiceServicer_to_server
        with python_server(lambda server: add(Nonsense(), server)) as address, coilwright.connect(address) as shop:
            with self.assertRaises(coilwright.ServiceError) as caught:
                shop.test_limit.get_test_limits({})
        self.assertEqual(str(caught.exception), "DATA_LOSS: the file was taken away")
        self.assertEqual(caught.exception.violations, [])


class Program(LiveTest):
    def test_ends_although_what_feeds_a_stream_still_waits(self) -> None:
        program = ("import sys, time, coilwright\n"
                   "def feed():\n"
                   f"    yield {ASKED!r}\n"
                   "    time.sleep(600)\n"
                   "for answer in coilwright.connect(sys.argv[1]).test_limit.stream_test_limits(feed()):\n"
                   "    print(answer.answers[0].label)\n"
                   "    break\n")
        run = subprocess.run([sys.executable, "-c", program, self.daemon.address], capture_output=True, text=True,
                             timeout=20, check=False)
        self.assertEqual((run.returncode, run.stdout, run.stderr), (0, "capper servo\n", ""))


if __name__ == "__main__":
    unittest.main()
