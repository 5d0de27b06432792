"""The golden answers of tests/golden, as the suites of the other languages have them."""

import json
import pathlib
import unittest
from typing import Any

import coilwright
from support import LiveTest, call_of, methods

GOLDEN = pathlib.Path(__file__).resolve().parents[3] / "tests" / "golden"


def difference(expected: Any, actual: Any, path: str = "") -> str:
    """Where two values differ first, or "". Numbers are equal within a relative 1e-9: the rest is the compiler's."""
    if isinstance(expected, dict) and isinstance(actual, dict):
        for key in expected | actual:
            if key not in actual or key not in expected:
                return f"{path}.{key}: {'left out' if key in expected else 'not expected'}"
        inside = (difference(value, actual[key], f"{path}.{key}") for key, value in expected.items())
        return next(filter(None, inside), "")
    if isinstance(expected, list) and isinstance(actual, list) and len(expected) == len(actual):
        inside = (difference(*pair, f"{path}[{i}]") for i, pair in enumerate(zip(expected, actual)))
        return next(filter(None, inside), "")
    if is_number(expected) and is_number(actual):
        if abs(expected - actual) <= 1e-9 * max(abs(expected), abs(actual)):
            return ""
    elif type(expected) is type(actual) and expected == actual:
        return ""
    return f"{path}: {actual!r}, expected {expected!r}"


def is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def there_and_back(answer: Any) -> dict[str, Any]:
    """The answer as a dict, which loses nothing of it."""
    values = coilwright.to_dict(answer)
    if coilwright.from_dict(type(answer), values).SerializeToString() != answer.SerializeToString():
        raise AssertionError(f"another {answer.DESCRIPTOR.name} from its dict: {values}")
    return values


def played(shop: coilwright.Client, service: Any, method: Any, case: dict[str, Any]) -> dict[str, Any]:
    """The case with what the server answers today."""
    again: dict[str, Any] = {"name": case["name"]}
    call = call_of(shop, service, method)
    try:
        if method.client_streaming:
            again |= {"requests": case["requests"], "answers": []}
            for answer in call(case["requests"]):
                again["answers"].append(there_and_back(answer))
        else:
            again["request"] = case["request"]
            again["answer"] = there_and_back(call(case["request"]))
    except coilwright.ServiceError as error:
        again["error"] = {"code": error.code.name, "message": error.message}
        if error.violations:
            again["error"]["violations"] = [violation._asdict() for violation in error.violations]
    return again


class Golden(LiveTest):
    def test_answers_are_the_same(self) -> None:
        by_name = {f"{service.name}/{method.name}": (service, method) for service, method in methods()}
        cases = 0
        for path in sorted(GOLDEN.glob("*.json")):
            file = json.loads(path.read_text())
            service, method = by_name.pop(file["method"])
            for case in file["cases"]:
                cases += 1
                with self.subTest(f"{file['method']}: {case['name']}"):
                    self.assertEqual(difference(case, played(self.shop, service, method, case)), "")
        self.assertEqual(list(by_name), [], "methods without golden answers")
        self.assertGreaterEqual(cases, 100)

    def test_a_difference_is_seen(self) -> None:
        for expected, actual, where in (
                ({"a": [1.0, {"b": "x"}]}, {"a": [1.0 + 1e-12, {"b": "x"}]}, ""),
                ({"a": [1.0]}, {"a": [1.0 + 1e-8]}, ".a[0]: 1.00000001, expected 1.0"),
                ({"a": 1}, {}, ".a: left out"),
                ({}, {"a": 1}, ".a: not expected"),
                ([1], [1, 1], ": [1, 1], expected [1]"),
                ({"a": "1"}, {"a": 1}, ".a: 1, expected '1'"),
                ({"a": True}, {"a": 1}, ".a: 1, expected True"),
                ({"a": {"b": "x"}}, {"a": {"b": "y"}}, ".a.b: 'y', expected 'x'")):
            self.assertEqual(difference(expected, actual), where)


if __name__ == "__main__":
    unittest.main()
