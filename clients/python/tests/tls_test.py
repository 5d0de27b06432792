"""TLS, mutual TLS and roles of a coilwrightd with an archive: who is let in, what everybody else is told, and that they
write nothing. certificates.sh says which certificate is whose."""

import concurrent.futures
import sys
import pathlib
import re
import subprocess
import tempfile
import time
import unittest
from collections.abc import Callable
from typing import Any

import grpc

import coilwright
from support import Daemon

ROOT = pathlib.Path(__file__).resolve().parents[3]
FADES_AFTER_SECONDS = 5

JOB = {"title": "retort pump 2", "machine": {"kind": "MACHINE_KIND_INDUCTION",
                                             "nameplate": {"rated_volts": 400, "rated_power": {"kw": 4}, "poles": 4}}}
COLD = {"winding_temperature": {"celsius": 24}, "temperature_evidence": "TEMPERATURE_EVIDENCE_SOAKED"}
READINGS = {"stage": "STAGE_ASSEMBLED", "rotor_fitted": True,
            "readings": [{"megohms": {"insulation_megohms": 900, "test_volts_dc": 500, **COLD}}]}


class Tls(unittest.TestCase):
    @classmethod
    def setUpClass(cls) -> None:
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.folder = pathlib.Path(folder.name)
        subprocess.run(["bash", ROOT / "tests" / "certificates.sh", folder.name, str(FADES_AFTER_SECONDS)], check=True)
        cls.fading = cls.serve("fading")
        cls.fades = time.time() + FADES_AFTER_SECONDS
        with coilwright.connect(cls.fading.address, ca=cls.folder / "authority.pem") as shop:
            shop.is_serving()  # it is let in as long as its certificate is valid
        # One that asks who calls, and knows what each may do.
        cls.daemon = cls.serve("server", f"--tls_client_ca={cls.folder / 'authority.pem'}",
                               f"--roles={cls.folder / 'roles.json'}", f"--archive={cls.folder / 'archive.db'}")

    @classmethod
    def serve(cls, own: str, *flags: str) -> Daemon:
        daemon = Daemon(*(f"--tls_{kind}={cls.folder / own}.{end}" for kind, end in (("cert", "pem"), ("key", "key"))),
                        *(flags or ("--archive=none",)))
        cls.addClassCleanup(daemon.kill)
        return daemon

    def connected(self, ca: str | None, own: str | None = None, daemon: Daemon | None = None) -> coilwright.Client:
        path: Callable[[str], pathlib.Path] = self.folder.joinpath
        return coilwright.connect((daemon or self.daemon).address, ca=ca and path(ca),
                                  certificate=own and path(f"{own}.pem"), key=own and path(f"{own}.key"))

    def refused(self, ca: str | None, own: str | None = None, daemon: Daemon | None = None,
                call: Callable[[coilwright.Client], Any] = coilwright.Client.is_serving) -> str:
        """What is said where nobody is reached, in bounded time. The health check is not repeated, as writes are."""
        begun = time.monotonic()
        with self.connected(ca, own, daemon) as shop, self.assertRaises(coilwright.ServiceError) as caught:
            call(shop)
        self.assertIs(caught.exception.code, grpc.StatusCode.UNAVAILABLE)
        self.assertLess(time.monotonic() - begun, 15)
        return caught.exception.message

    def entries(self) -> int:
        with self.connected("authority.pem", "office") as shop:
            return shop.archive.get_archive({}).entries

    def opened(self, shop: coilwright.Client) -> Any:
        return shop.job.create_job({"job": JOB, "recorded_by": "Ana"}).job

    def denied(self, own: str, needs: str, call: Callable[[coilwright.Client], Any]) -> None:
        with self.connected("authority.pem", own) as shop, self.assertRaises(coilwright.ServiceError) as caught:
            call(shop)
        self.assertIs(caught.exception.code, grpc.StatusCode.PERMISSION_DENIED)
        self.assertRegex(caught.exception.message, f'"{own}".* needs the role {needs}')

    def test_a_server_that_we_trust(self) -> None:
        server = self.serve("server")
        with self.connected("authority.pem", daemon=server) as shop:
            self.assertTrue(shop.rule.list_rules({}).rules)
        with coilwright.connect(server.address, ca=(self.folder / "authority.pem").read_bytes()) as shop:
            self.assertTrue(shop.is_serving())

    def test_a_server_that_we_do_not_trust(self) -> None:
        self.assertIn("signed by this ca", self.refused("stranger.pem"))
        elsewhere = self.serve("elsewhere")
        self.assertIn("reach the server by a name that stands in its certificate",
                      self.refused("authority.pem", daemon=elsewhere))

    def test_plain_text_and_tls_mixed_up(self) -> None:
        self.assertIn("does the server want TLS? then give ca", self.refused(None))
        plain = Daemon()
        self.addCleanup(plain.kill)
        self.assertIn("leave ca out", self.refused("authority.pem", daemon=plain))

    def test_whose_certificate_has_ended_is_not_trusted(self) -> None:
        time.sleep(max(0, self.fades + 1 - time.time()))
        self.assertIn("still valid?", self.refused("authority.pem", daemon=self.fading))

    def test_wrong_files_are_told_before_anything_is_sent(self) -> None:
        bench = {"certificate": self.folder / "bench-3.pem", "key": self.folder / "bench-3.key"}
        shop = self.folder / "authority.pem"
        wrong: list[tuple[dict[str, Any], type[Exception], str]] = [
            ({"ca": self.folder / "none.pem"}, FileNotFoundError, "none.pem"),
            ({"ca": self.folder / "authority.key"}, ValueError, "ca: no certificate in PEM"),
            ({"ca": b"\xff"}, ValueError, "ca: no certificate in PEM"),
            ({"ca": 7}, TypeError, "ca: got int, accepted: a path or bytes"),
            (bench, ValueError, "ca: missing beside certificate and key"),
            ({"ca": shop, "key": bench["key"]}, ValueError, "certificate and key: got one of them"),
            ({"ca": shop} | bench | {"key": self.folder / "server.key"}, ValueError, "or not of each other"),
            ({"ca": shop} | bench | {"key": b"garbage"}, ValueError, "not in PEM, or not of each other")]
        for given, kind, said in wrong:
            with self.subTest(said), self.assertRaisesRegex(kind, said):
                coilwright.connect("127.0.0.1:1", **given)

    def test_who_is_not_let_in_writes_nothing(self) -> None:
        before = self.entries()
        ours = "does the server want a certificate of ours, of an authority that it trusts and not out of date"
        strangers = (("authority.pem", None, ours), ("authority.pem", "intruder", ours),
                     ("authority.pem", "expired", ours), ("stranger.pem", "bench-3", "signed by this ca"),
                     (None, None, "then give ca"))
        with concurrent.futures.ThreadPoolExecutor(len(strangers)) as threads:  # a write is sent for some seconds
            told = list(threads.map(lambda who: self.refused(who[0], who[1], call=self.opened), strangers))
        for (_, own, said), message in zip(strangers, told):
            self.assertIn(said, message, own)
        self.assertEqual(self.entries(), before)

    def test_a_role_decides_who_writes(self) -> None:
        before = self.entries()
        self.denied("visitor", "read", lambda shop: shop.rule.list_rules({}))
        self.denied("visitor", "read", lambda shop: list(shop.test_limit.stream_test_limits([{}])))
        self.denied("office", "record", self.opened)
        self.assertEqual(self.entries(), before)
        with self.connected("authority.pem", "bench-3") as bench:
            job = self.opened(bench)
        self.assertEqual(self.entries(), before + 1)
        release = {"name": job.name, "etag": job.revision.etag, "person": "Bo Lind",
                   "qualification": "licensed electrician", "despite_verdict": "the bench is out for repair"}
        self.denied("bench-3", "sign off", lambda shop: shop.job.sign_off_job(release))
        self.assertEqual(self.entries(), before + 1)
        with self.connected("authority.pem", "foreman") as foreman:
            self.assertEqual(foreman.job.sign_off_job(release).job.sign_offs[0].person, "Bo Lind")

    def test_the_readme_makes_the_certificate_of_a_job(self) -> None:
        with self.connected("authority.pem", "bench-3") as bench:
            bench.job.create_job({"job": JOB, "job_id": "retort-pump-2", "recorded_by": "Ana"})
            bench.job.add_readings({"job": "jobs/retort-pump-2", "readings": READINGS, "taken_by": "Ana"})
        program = next(text for text in re.findall(r"```python\n(.*?)```", (ROOT / "clients/python/README.md").read_text(),
                                                   re.DOTALL) if "bench-server:7360" in text)
        run = subprocess.run([sys.executable, "-c", program.replace("bench-server:7360", self.daemon.address)],
                             cwd=self.folder, capture_output=True, text=True, timeout=30, check=False)
        self.assertEqual((run.stdout, run.stderr), ("wrote retort-pump-2.pdf\n", ""))
        self.assertTrue((self.folder / "retort-pump-2.pdf").read_bytes().startswith(b"%PDF-"))


if __name__ == "__main__":
    unittest.main()
