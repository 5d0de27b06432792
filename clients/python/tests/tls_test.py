"""TLS and mutual TLS, with authorities that last for the test."""

import pathlib
import subprocess
import tempfile
import unittest
from collections.abc import Callable
from typing import Any

import grpc

import coilwright
from coilwright import v1
from coilwright.v1 import rule_service_pb2_grpc
from support import python_server

KEY = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]


class Rules(rule_service_pb2_grpc.RuleServiceServicer):
    """Answers with the name of who calls."""

    def GetRule(self, request: Any, context: Any) -> Any:
        names = context.auth_context().get("x509_common_name", [b""])
        return v1.GetRuleResponse(data_revision=names[0].decode())


def serve(server: grpc.Server) -> None:
    rule_service_pb2_grpc.add_RuleServiceServicer_to_server(Rules(), server)


class Tls(unittest.TestCase):
    @classmethod
    def setUpClass(cls) -> None:
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.folder = pathlib.Path(folder.name)
        for authority in ("shop", "stranger"):
            cls.openssl("req", "-x509", *KEY, "-days", "2", "-subj", f"/CN={authority}", "-keyout", f"{authority}.key",
                        "-out", f"{authority}.pem")
        for authority, name, days in (("shop", "server", "2"), ("shop", "old", "-1"), ("shop", "bench", "2"),
                                      ("stranger", "visitor", "2")):
            cls.openssl("req", *KEY, "-subj", f"/CN={name}", "-keyout", f"{name}.key", "-out", f"{name}.csr")
            (cls.folder / "names").write_text("subjectAltName=IP:127.0.0.1")
            cls.openssl("x509", "-req", "-in", f"{name}.csr", "-CA", f"{authority}.pem", "-CAkey", f"{authority}.key",
                        "-CAcreateserial", "-days", days, "-extfile", "names", "-out", f"{name}.pem")

    @classmethod
    def openssl(cls, *arguments: str) -> None:
        subprocess.run(["openssl", *arguments], cwd=cls.folder, check=True, capture_output=True)

    def read(self, name: str) -> bytes:
        return (self.folder / name).read_bytes()

    def server(self, name: str = "server", mutual: bool = False) -> Any:
        credentials = grpc.ssl_server_credentials(  # type: ignore[attr-defined]
            [(self.read(f"{name}.key"), self.read(f"{name}.pem"))], self.read("shop.pem") if mutual else None, mutual)
        return python_server(serve, credentials=credentials)

    def connected(self, address: str, ca: str | None, own: str | None = None) -> coilwright.Client:
        path: Callable[[str], pathlib.Path] = self.folder.joinpath
        return coilwright.connect(address, ca=ca and path(ca), certificate=own and path(f"{own}.pem"),
                                  key=own and path(f"{own}.key"))

    def who(self, address: str, ca: str | None, own: str | None = None) -> str:
        with self.connected(address, ca, own) as shop:
            return shop.rule.get_rule({}).data_revision

    def refused(self, address: str, ca: str | None, own: str | None = None) -> str:
        """What is said; by the health check, which nobody repeats."""
        with self.connected(address, ca, own) as shop, self.assertRaises(coilwright.ServiceError) as caught:
            shop.is_serving()
        self.assertIs(caught.exception.code, grpc.StatusCode.UNAVAILABLE)
        return caught.exception.message

    def test_a_server_that_we_trust(self) -> None:
        with self.server() as address:
            self.assertEqual(self.who(address, "shop.pem"), "")
            with coilwright.connect(address, ca=self.read("shop.pem")) as shop:
                self.assertEqual(shop.rule.get_rule({}).data_revision, "")

    def test_a_server_that_we_do_not_trust(self) -> None:
        with self.server() as address:
            self.assertIn("signed by this ca", self.refused(address, "stranger.pem"))
        with self.server("old") as address:
            self.assertIn("still valid?", self.refused(address, "shop.pem"))
        with self.server() as address:  # the certificate is for 127.0.0.1
            other = address.replace("127.0.0.1", "localhost")
            self.assertIn("no answer from localhost", self.refused(other, "shop.pem"))

    def test_plain_text_and_tls_mixed_up(self) -> None:
        with self.server() as address:
            self.assertIn("does the server want TLS? then give ca", self.refused(address, None))
        with python_server(serve) as address:
            self.assertIn("leave ca out", self.refused(address, "shop.pem"))

    def test_a_server_that_asks_who_calls(self) -> None:
        with self.server(mutual=True) as address:
            self.assertEqual(self.who(address, "shop.pem", "bench"), "bench")
            for own in (None, "visitor", "old"):
                self.assertIn("does the server want a certificate of ours", self.refused(address, "shop.pem", own))

    def test_wrong_files_are_told_before_anything_is_sent(self) -> None:
        bench = {"certificate": self.folder / "bench.pem", "key": self.folder / "bench.key"}
        shop = self.folder / "shop.pem"
        wrong: list[tuple[dict[str, Any], type[Exception], str]] = [
            ({"ca": self.folder / "none.pem"}, FileNotFoundError, "none.pem"),
            ({"ca": self.folder / "shop.key"}, ValueError, "ca: no certificate in PEM"),
            ({"ca": b"\xff"}, ValueError, "ca: no certificate in PEM"),
            ({"ca": 7}, TypeError, "ca: got int, accepted: a path or bytes"),
            (bench, ValueError, "ca: missing beside certificate and key"),
            ({"ca": shop, "key": bench["key"]}, ValueError, "certificate and key: got one of them"),
            ({"ca": shop} | bench | {"key": self.folder / "server.key"}, ValueError, "or not of each other"),
            ({"ca": shop} | bench | {"key": b"garbage"}, ValueError, "not in PEM, or not of each other")]
        for given, kind, said in wrong:
            with self.subTest(said), self.assertRaisesRegex(kind, said):
                coilwright.connect("127.0.0.1:1", **given)


if __name__ == "__main__":
    unittest.main()
