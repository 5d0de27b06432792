"""Plays the software of a test bench at the Harbour Lane cannery; cannery, machines and readings are invented.

    python3 test_bench.py 127.0.0.1:7360

It asks for the levels of the machines that wait, follows two insulation runs while they go on and takes the voltage off
where it is told to, and has the readings of a machine judged. The cautions stand with the levels, as they must on any
bench.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
import random
import sys
import threading
from collections.abc import Iterable, Iterator
from typing import Any

import coilwright
from coilwright import v1

WAITING: list[dict[str, Any]] = [
    {"label": "retort pump 2", "limits": {"rated_volts": 400, "rated_power": {"kw": 4}}},
    {"label": "capper servo", "limits": {"rated_volts": 190, "rated_power": {"kw": 1.4}}},
    {"label": "waste auger", "limits": {"rated_volts": 0}},  # the plate could not be read
    {"label": "boiler feed pump", "limits": {"rated_volts": 690, "rated_power": {"hp": 40},
                                             "choice": {"condition": "WINDING_CONDITION_RECONDITIONED"}}},
]


@dataclasses.dataclass
class Winding:
    """A winding as an insulation tester sees it: absorption that dies away, conduction, and a fault that grows."""

    name: str
    absorption_microamps: float
    conduction_megohms: float
    climbs_after_seconds: float = 1e9

    def microamps(self, seconds: float, volts_dc: float) -> float:
        climb = math.pow(1.012, max(0.0, seconds - self.climbs_after_seconds))
        return self.absorption_microamps * math.pow(seconds, -0.7) + volts_dc / self.conduction_megohms * climb


class Tester:
    """An insulation tester at 500 V. It has no meter and does not wait: each reading follows the answer to the last."""

    def __init__(self, winding: Winding) -> None:
        self._winding = winding
        self._answered = threading.Semaphore()
        self._voltage_on = True

    def messages(self) -> Iterator[dict[str, Any]]:
        """What feeds the stream, in a thread of its own. Its end sums the run up."""
        yield {"setup": {"rated_volts": 400, "rated_power": {"kw": 4}, "test_volts_dc": 500,
                         "winding_temperature": {"celsius": 24}, "instrument": {"name": "insulation meter 1"}}}
        scatter = random.Random(7114)
        for seconds in range(1, 606):
            self._answered.acquire()
            if not self._voltage_on:
                return
            microamps = self._winding.microamps(seconds, 500) * scatter.gauss(1, 0.004)
            yield {"samples": [{"seconds": seconds, "test_volts_dc": 500, "current_microamps": microamps}]}

    def next_reading(self) -> None:
        self._answered.release()

    def voltage_off(self) -> None:
        self._voltage_on = False


def words(name: str, prefix: str) -> str:
    return name.removeprefix(prefix).replace("_", " ").lower()


def show_cautions(cautions: Iterable[str]) -> None:
    for caution in cautions:
        print(f"  ! {caution}")


def show_levels(shop: coilwright.Client) -> None:
    print("Levels")
    cautions: dict[str, None] = {}
    for answer in shop.test_limit.stream_test_limits({"machines": [machine]} for machine in WAITING):
        for machine in answer.answers:
            if machine.HasField("status"):
                print(f"  {machine.label:18} none: {coilwright.ServiceError.of_status(machine.status)}")
                continue
            limits = machine.limits
            print(f"  {machine.label:18} withstand {limits.withstand_ac.test_volts:.0f} V ac rms,"
                  f" {limits.withstand_ac.hold_seconds:.0f} s ({limits.withstand_ac.rule});"
                  f" insulation {limits.megohm_test.test_volts:.0f} V dc,"
                  f" at least {limits.minimum_megohms:g} megohms at 40 C")
            cautions |= dict.fromkeys(limits.cautions)
    show_cautions(cautions)


def follow_run(shop: coilwright.Client, winding: Winding) -> float | None:
    """Megohms after a minute, where the run came to a verdict."""
    print(f"\nInsulation run, {winding.name}")
    tester = Tester(winding)
    megohms = None
    with shop.insulation_run.run_insulation_test(tester.messages()) as answers:
        for answer in answers:
            if answer.final:
                verdict = words(v1.MegohmVerdict.Name(answer.judged.verdict), "MEGOHM_VERDICT_")
                print(f"  {answer.samples_taken} readings: {verdict}. {answer.judged.reason}")
                index = answer.polarization_index
                if index.HasField("value"):
                    print(f"  10 min over 1 min: {index.value:.2f}")
                elif index.reason:
                    print(f"  10 min over 1 min: none, {index.reason}")
                print(f"  earth the winding at least {answer.discharge_seconds:.0f} s")
                break
            if answer.samples_taken == 0:
                show_cautions(answer.cautions)
            for mark in answer.marks:
                if not mark.HasField("insulation_megohms"):
                    print(f"  {mark.mark_seconds:4.0f} s  no reading: {mark.reason}")
                    continue
                corrected = mark.HasField("corrected_megohms_40c")
                print(f"  {mark.mark_seconds:4.0f} s  {mark.insulation_megohms:.0f} megohms"
                      + (f", {mark.corrected_megohms_40c:.0f} at 40 C" if corrected else ""))
                if mark.mark_seconds == 60:
                    megohms = mark.insulation_megohms
            for advice in answer.advice:
                print(f"  {'STOP' if advice.stop else 'note'} at {advice.seen_at_seconds:.0f} s: {advice.reason}")
            if answer.stop:
                tester.voltage_off()
            tester.next_reading()
    return megohms


def judge(shop: coilwright.Client, megohms: float | None) -> None:
    print("\nReadings, retort pump 2, assembled")
    cold = {"winding_temperature": {"celsius": 24}, "temperature_evidence": "TEMPERATURE_EVIDENCE_SOAKED"}
    answer = shop.reading.judge_readings({
        "stage": "STAGE_ASSEMBLED",
        "machine": {"kind": "MACHINE_KIND_INDUCTION",
                    "nameplate": {"rated_volts": 400, "rated_power": {"kw": 4}, "poles": 4, "thermal_class": "F"}},
        "rotor_fitted": True,
        "readings": [
            {"resistance": {"line_to_line": {"u_v_ohms": 2.91, "v_w_ohms": 2.92, "w_u_ohms": 2.91, **cold}},
             "instrument": {"name": "milliohm meter 2", "uncertainty_ratio": 0.003}},
            {"megohms": {"insulation_megohms": megohms, "test_volts_dc": 500, **cold}},
            {"withstand": {"volts_shape": "VOLTAGE_SHAPE_AC_RMS", "test_volts": 1800, "hold_seconds": 60,
                           "leakage_milliamps": [1.1, 1.1, 1.2], "trip_milliamps": 10}},
        ],
    })
    for test in answer.tests:
        verdict = words(v1.TestVerdict.Name(test.verdict), "TEST_VERDICT_")
        value = test.corrected if test.HasField("corrected") else test.as_read
        print(f"  {verdict:9} {test.title}" + (f": {value:.4g} {test.unit}" if test.HasField("as_read") else ""))
    print(f"  {answer.summary}")
    for step in answer.next_steps:
        print(f"  next: {step}")
    show_cautions(answer.cautions)


def main() -> int:
    parser = argparse.ArgumentParser(description="plays the software of a test bench")
    parser.add_argument("server", metavar="HOST:PORT", nargs="?", default="127.0.0.1:7360")
    parser.add_argument("--ca", help="certificates by which the server is known")
    parser.add_argument("--cert", help="our own certificate")
    parser.add_argument("--key", help="and its key")
    given = parser.parse_args()
    try:
        with coilwright.connect(given.server, ca=given.ca, certificate=given.cert, key=given.key) as shop:
            show_levels(shop)
            megohms = follow_run(shop, Winding("retort pump 2", absorption_microamps=2.4, conduction_megohms=9000))
            follow_run(shop, Winding("waste auger", absorption_microamps=3, conduction_megohms=900,
                                     climbs_after_seconds=45))
            judge(shop, megohms)
    except (coilwright.ServiceError, ValueError, OSError) as error:
        print(f"test_bench: {error}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
