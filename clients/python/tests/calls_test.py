"""Calls with one answer, against a live server."""

import concurrent.futures
import datetime
import pathlib
import pickle
import socket
import tempfile
import threading
import unittest
import warnings

import grpc

import coilwright
from coilwright import v1
from support import Daemon, LiveTest, call_of, methods, snake

MOTOR = {"rated_volts": 400, "rated_power": {"kw": 3}, "choice": {"family": "STANDARD_FAMILY_NEMA_MG_1"}}


class Reach(LiveTest):
    def test_every_method_of_every_service_is_known_to_the_server(self) -> None:
        answered = {"OK", "INVALID_ARGUMENT", "NOT_FOUND", "FAILED_PRECONDITION"}
        services = set()
        for service, method in methods():
            with self.subTest(method.full_name):
                call = call_of(self.shop, service, method)
                self.assertTrue(call.__doc__)
                code = "OK"
                try:
                    answer = list(call([])) if method.client_streaming else call({})
                    if not method.client_streaming:
                        self.assertIs(answer.DESCRIPTOR, method.output_type)
                except coilwright.ServiceError as error:
                    code = error.code.name
                self.assertIn(code, answered)
            services.add(service.name)
        self.assertGreaterEqual(len(services), 14)

    def test_health(self) -> None:
        self.assertTrue(self.shop.is_serving())
        for service, _ in methods():
            self.assertTrue(self.shop.is_serving(service.full_name), service.full_name)
        self.assertIs(self.error_of(lambda: self.shop.is_serving("coilwright.v1.NoService")).code,
                      grpc.StatusCode.NOT_FOUND)
        with self.assertRaisesRegex(ValueError, "service: got 'xxx.* accepted: the full name of"):
            self.shop.is_serving("x" * 200)

    def test_many_threads_share_a_client(self) -> None:
        with concurrent.futures.ThreadPoolExecutor(16) as threads:
            volts = range(100, 500)
            answers = list(threads.map(
                lambda v: self.shop.test_limit.get_test_limits({"rated_volts": v, "rated_power": {"kw": 3}}), volts))
        for volt, answer in zip(volts, answers):
            self.assertEqual(answer.withstand_ac.test_volts, max(1500, 2 * volt + 1000))

    def test_a_dict_and_a_message_are_the_same_request(self) -> None:
        message = v1.GetTestLimitsRequest(rated_volts=400, rated_power=v1.Power(kw=3),
                                          choice=v1.TestChoice(family=v1.STANDARD_FAMILY_NEMA_MG_1))
        self.assertEqual(self.shop.test_limit.get_test_limits(MOTOR), self.shop.test_limit.get_test_limits(message))


class Errors(LiveTest):
    def test_every_wrong_field_is_a_violation(self) -> None:
        error = self.error_of(lambda: self.shop.test_limit.get_test_limits({"rated_volts": -1, "built_year": 3}))
        self.assertIs(error.code, grpc.StatusCode.INVALID_ARGUMENT)
        self.assertEqual(error.violations, [("rated_volts", "got -1 V, accepted: 1 V to 50000 V"),
                                            ("built_year", "got 3, accepted: 1880 to 2200")])
        self.assertEqual(error.violations[1].field, "built_year")
        self.assertEqual(str(error), "INVALID_ARGUMENT: rated_volts: got -1 V, accepted: 1 V to 50000 V\n"
                                     "  built_year: got 3, accepted: 1880 to 2200")

    def test_without_violations_the_message_is_told(self) -> None:
        error = self.error_of(lambda: self.shop.rule.get_rule({"name": "rules/none.such"}))
        self.assertIs(error.code, grpc.StatusCode.NOT_FOUND)
        self.assertEqual(error.violations, [])
        self.assertEqual(str(error), f"NOT_FOUND: {error.message}")

    def test_an_error_goes_from_process_to_process(self) -> None:
        error = self.error_of(lambda: self.shop.test_limit.get_test_limits({"rated_volts": -1}))
        again = pickle.loads(pickle.dumps(error))
        self.assertEqual((again.code, again.message, again.violations), (error.code, error.message, error.violations))

    def test_a_passed_deadline_is_told_with_the_way_out(self) -> None:
        # It takes connections and never says a word, however fast or slow this machine is.
        with socket.create_server(("127.0.0.1", 0)) as silent:
            address = f"127.0.0.1:{silent.getsockname()[1]}"
            with coilwright.connect(address) as shop:
                error = self.error_of(lambda: shop.rule.list_rules({}, deadline_seconds=0.2))
            self.assertIs(error.code, grpc.StatusCode.DEADLINE_EXCEEDED)
            self.assertIn("deadline_seconds", error.message)
            with coilwright.connect(address, deadline_seconds=0.2) as hurried:
                self.assertIs(self.error_of(lambda: hurried.rule.list_rules({})).code,
                              grpc.StatusCode.DEADLINE_EXCEEDED)
        with coilwright.connect(self.daemon.address, deadline_seconds=1e-9) as hurried:
            self.assertTrue(hurried.rule.list_rules({}, deadline_seconds=10).rules)

    def test_a_server_that_is_not_there(self) -> None:
        gone = Daemon()
        gone.kill()
        with coilwright.connect(gone.address) as shop:
            error = self.error_of(shop.is_serving)
        self.assertIs(error.code, grpc.StatusCode.UNAVAILABLE)
        self.assertIn(f"no answer from {gone.address}", error.message)


class Dicts(LiveTest):
    def test_there_and_back_is_the_same_message(self) -> None:
        requests = v1.GetTestLimitsRequest
        self.assertEqual(coilwright.to_dict(coilwright.from_dict(requests, MOTOR)), MOTOR)
        for answer in (self.shop.test_limit.get_test_limits(MOTOR), self.shop.rule.list_rules({}),
                       self.shop.wire.look_up_wire({"wire": {"designation": "AWG 18 heavy"}}),
                       self.shop.layout.describe_layout({"layout": {"slots": 36, "poles": 4, "coil_pitch_slots": 8}})):
            values = coilwright.to_dict(answer)
            self.assertEqual(coilwright.from_dict(type(answer), values), answer)
            self.assertTrue(all(key == snake(key) for key in values))

    def test_a_status_in_a_stream_goes_there_and_back_with_its_violations(self) -> None:
        wrong = {"machines": [{"label": "waste auger", "limits": {"rated_volts": 0}}]}
        (answer,) = self.shop.test_limit.stream_test_limits([wrong])
        values = coilwright.to_dict(answer)
        (detail,) = values["answers"][0]["status"]["details"]
        self.assertEqual(detail["field_violations"],
                         [{"field": "rated_volts", "description": "got 0 V, accepted: 1 V to 50000 V"}])
        again = coilwright.from_dict(v1.StreamTestLimitsResponse, values)
        self.assertEqual(again.SerializeToString(), answer.SerializeToString())
        self.assertEqual(coilwright.ServiceError.of_status(answer.answers[0].status).violations[0].field, "rated_volts")

    def test_every_wrong_key_and_value_is_named_at_once(self) -> None:
        with self.assertRaises(ValueError) as caught:
            self.shop.test_limit.get_test_limits({
                "rated_volt": 400, "rated_power": {"kw": 3, "hp": "4"}, "winding_kind": "RANDOM", "built_year": 19.5,
                "choice": [], 7: 1})
        said = str(caught.exception)
        for line in ("rated_volt: no such key, the nearest is rated_volts; accepted: rated_volts, rated_power,",
                     "rated_power.hp: got '4', accepted: a finite number",
                     "rated_power: got kw and hp, accepted: one of them",
                     "winding_kind: got 'RANDOM', accepted: INSULATED_WINDING_KIND_RANDOM_WOUND,",
                     "built_year: got 19.5, accepted: a whole number from -2147483648 to 2147483647",
                     "choice: got [], accepted: a dict with family,",
                     "7: no such key"):
            self.assertIn(line, said)

    def test_paths_go_through_lists(self) -> None:
        with self.assertRaisesRegex(ValueError, r"readings\[1\]\.over_range: got 1, accepted: True or False"):
            coilwright.from_dict(v1.JudgeMegohmsRequest, {"readings": [{"over_range": True}, {"over_range": 1}]})
        with self.assertRaisesRegex(ValueError, r"readings: got \{'label': 'U'\}, accepted: a list"):
            coilwright.from_dict(v1.JudgeMegohmsRequest, {"readings": {"label": "U"}})

    def test_what_is_no_number_is_refused(self) -> None:
        for value in (float("nan"), float("inf"), 10**400, True, "400", [400], b"400"):
            with self.assertRaisesRegex(ValueError, "rated_volts: got .*, accepted: a finite number"):
                coilwright.from_dict(v1.GetTestLimitsRequest, {"rated_volts": value})

    def test_what_does_not_fit_is_refused_and_never_cut_off(self) -> None:
        for value in (2**31, -2**40, "2147483648", 1e300):
            with self.assertRaisesRegex(ValueError, "built_year: got .*, accepted: a whole number from -2147483648 to 2"):
                coilwright.from_dict(v1.GetTestLimitsRequest, {"built_year": value})
        with self.assertRaisesRegex(ValueError, r"choice\.family: got 4294967296, accepted: STANDARD_FAMILY_IEC_60034_1"):
            coilwright.from_dict(v1.GetTestLimitsRequest, {"choice": {"family": 2**32}})
        with self.assertRaisesRegex(ValueError, "pageSize: given twice, accepted: page_size alone"):
            coilwright.from_dict(v1.ListRulesRequest, {"page_size": 1, "pageSize": 2})
        with self.assertRaises(ValueError) as caught:
            coilwright.from_dict(v1.ListRulesRequest, {"x" * 10**6: 1})
        self.assertLess(len(str(caught.exception)), 200)

    def test_none_is_left_out_and_never_zero(self) -> None:
        self.assertFalse(coilwright.from_dict(v1.GetTestLimitsRequest, {"rated_volts": None}).HasField("rated_volts"))
        self.assertTrue(coilwright.from_dict(v1.GetTestLimitsRequest, {"rated_volts": 0}).HasField("rated_volts"))

    def test_messages_stand_in_dicts(self) -> None:
        band = v1.Band(low=1, nominal=2, high=3)
        made = coilwright.from_dict(v1.JudgeReadingsRequest, {"expected_line_to_line_ohms": band, "readings": ()})
        self.assertEqual(made.expected_line_to_line_ohms, band)
        with self.assertRaisesRegex(ValueError, "expected_line_to_line_ohms: got Power, accepted: Band"):
            coilwright.from_dict(v1.JudgeReadingsRequest, {"expected_line_to_line_ohms": v1.Power(kw=1)})

    def test_times_are_texts_or_datetimes_with_a_zone(self) -> None:
        made = coilwright.from_dict(v1.ReachStageRequest, {"time": "2026-03-02T08:30:00Z", "stage": 6})
        self.assertEqual(coilwright.to_dict(made), {"time": "2026-03-02T08:30:00Z", "stage": "STAGE_ASSEMBLED"})
        at = datetime.datetime(2026, 3, 2, 9, 30, tzinfo=datetime.timezone(datetime.timedelta(hours=1)))
        self.assertEqual(coilwright.from_dict(v1.ReachStageRequest, {"time": at, "stage": 6}), made)
        for wrong in ("yesterday", 5, at.replace(tzinfo=None), {"seconds": 1}):
            with self.assertRaisesRegex(ValueError, "ReachStageRequest: time: got .*, accepted: a time as in '2026-"):
                coilwright.from_dict(v1.ReachStageRequest, {"time": wrong})

    def test_masks_name_fields_as_the_service_does(self) -> None:
        made = coilwright.from_dict(v1.UpdateJobRequest, {"update_mask": "title,customer_reference"})
        self.assertEqual(list(made.update_mask.paths), ["title", "customer_reference"])
        with self.assertRaisesRegex(ValueError, r"update_mask: got \['title'\], accepted: field names with commas"):
            coilwright.from_dict(v1.UpdateJobRequest, {"update_mask": ["title"]})

    def test_half_characters_never_leave(self) -> None:
        # Sent, they would come back as INTERNAL without a word.
        with self.assertRaisesRegex(ValueError, r"name: got 'rules/\\ud83d', accepted: a text without half characters"):
            self.shop.rule.get_rule({"name": "rules/\ud83d"})
        with self.assertRaises(ValueError):
            v1.GetRuleRequest(name="rules/\ud83d")
        error = self.error_of(lambda: self.shop.rule.get_rule({"name": "rules/\U0001f527"}))
        self.assertIs(error.code, grpc.StatusCode.NOT_FOUND)


class Use(LiveTest):
    def test_wrong_use_is_told(self) -> None:
        for call, said in (
                (lambda: coilwright.connect("localhost"), "address: got 'localhost', accepted: HOST:PORT"),
                (lambda: coilwright.connect("localhost:70000"), "address: got 'localhost:70000'"),
                (lambda: coilwright.connect("http://127.0.0.1:1"), "address: got 'http://127.0.0.1:1'"),
                (lambda: coilwright.connect(deadline_seconds=0), "deadline_seconds: got 0, accepted: a number above 0"),
                (lambda: coilwright.connect(deadline_seconds=float("inf")), "deadline_seconds: got inf"),
                # gRPC would take it for one that has passed.
                (lambda: coilwright.connect(deadline_seconds=1e10), "got 10000000000.0, accepted: a number above 0, at m"),
                (lambda: coilwright.to_dict(None), "message: got NoneType, accepted: a message"),  # type: ignore[arg-type]
                (lambda: coilwright.from_dict(dict, {}), "message_type: got <class 'dict'>"),  # type: ignore[type-var]
                (lambda: coilwright.ServiceError.of_status({}), "status: got dict"),  # type: ignore[arg-type]
                (lambda: self.shop.rule.list_rules({}, deadline_seconds=-1), "deadline_seconds: got -1"),
                (lambda: self.shop.rule.list_rules([]),  # type: ignore[arg-type]
                 "got list, accepted: ListRulesRequest or a dict"),
                (lambda: self.shop.rule.list_rules(v1.GetRuleRequest()),  # type: ignore[arg-type]
                 "got GetRuleRequest, accepted: ListRulesRequest or a dict"),
                (lambda: self.shop.test_limit.stream_test_limits({}),
                 "got dict, accepted: an iterable of StreamTestLimitsRequest or dicts")):
            with self.subTest(said), self.assertRaises((ValueError, TypeError)) as caught:
                call()
            self.assertIn(said, str(caught.exception))

    def test_a_closed_client_says_so(self) -> None:
        shop = coilwright.connect(self.daemon.address)
        held = threading.Event()
        self.addCleanup(held.set)
        stream = shop.test_limit.stream_test_limits(iter(held.wait, True))  # type: ignore[arg-type]
        shop.close()
        shop.close()
        self.assertEqual(self.error_of(lambda: list(stream)).message, "cancelled by close() of the client")
        for call in (lambda: shop.rule.list_rules({}), lambda: shop.test_limit.stream_test_limits([]), shop.is_serving):
            with self.assertRaisesRegex(ValueError, "the client is closed"):
                call()

    def test_plain_text_beyond_this_machine_is_warned_of(self) -> None:
        with self.assertWarnsRegex(UserWarning, r"plain text to 192\.0\.2\.1:7360"):
            coilwright.connect("192.0.2.1:7360").close()
        for near in ("localhost:1", "127.0.0.2:1", "[::1]:1"):
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                coilwright.connect(near).close()


class Archive(unittest.TestCase):
    def test_a_write_sent_again_with_its_request_id_is_made_once(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            daemon = Daemon(f"--archive={pathlib.Path(folder) / 'archive.db'}")
            self.addCleanup(daemon.kill)
            with coilwright.connect(daemon.address) as shop:
                job = {"job": {"title": "capper servo", "machine": {"nameplate": {"rated_volts": 190}}},
                       "recorded_by": "bench 1", "request_id": "bench-1-42"}
                self.assertEqual(shop.job.create_job(job), shop.job.create_job(job))
                message = coilwright.from_dict(v1.CreateJobRequest, job | {"request_id": ""})
                shop.job.create_job(message)
                self.assertEqual(message.request_id, "")  # the id that was drawn is in a copy
                self.assertEqual(len(shop.job.list_jobs({}).jobs), 2)
                with self.assertRaises(coilwright.ServiceError) as caught:
                    shop.job.create_job({"job": {"title": "capper servo"}, "job_id": "no blanks"})
                self.assertRegex(caught.exception.request_id, "^[0-9a-f]{32}$")


if __name__ == "__main__":
    unittest.main()
