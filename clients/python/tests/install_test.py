"""The package as it is built, installed and typed. That this file runs says that pip installed it without an index."""

import importlib.metadata
import os
import pathlib
import re
import subprocess
import sys
import tarfile
import tempfile
import unittest
import zipfile

import coilwright

PACKAGE = pathlib.Path(__file__).resolve().parents[1]
ROOT = PACKAGE.parents[1]


def run(*command: object, cwd: object = None, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(word) for word in command], cwd=str(cwd or PACKAGE), env=os.environ | environment,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)


def build(package: pathlib.Path, kind: str, folder: pathlib.Path, **environment: str) -> pathlib.Path:
    """A wheel or an sdist, made as pip has it made."""
    folder.mkdir(exist_ok=True)
    program = ("import sys; sys.path[0:0] = ['backend']; import coilwright_build as backend;"
               " print(getattr(backend, sys.argv[1])(sys.argv[2]))")
    # Isolated from what is installed, so that the backend needs nothing but Python.
    made = run("/usr/bin/python3", "-S", "-c", program, f"build_{kind}", folder, cwd=package, **environment)
    if made.returncode != 0:
        raise RuntimeError(made.stdout)
    return folder / made.stdout.split()[-1]


def sources() -> list[pathlib.Path]:
    return sorted(path for path in PACKAGE.rglob("*") if "__pycache__" not in path.parts)


class Installed(unittest.TestCase):
    def test_it_is_this_version_with_the_packages_of_debian(self) -> None:
        project = (ROOT / "CMakeLists.txt").read_text()
        version = re.search(r"project\(coilwright VERSION ([\d.]+)", project)
        assert version is not None
        self.assertEqual(importlib.metadata.version("coilwright"), version[1])
        self.assertEqual(importlib.metadata.requires("coilwright"), ["grpcio>=1.51.1", "protobuf>=4.21.12"])
        self.assertIn("site-packages", coilwright.__file__)
        checked = run(sys.executable, "-m", "pip", "check")
        self.assertNotRegex(checked.stdout, "(?m)^coilwright ")

    def test_every_installed_file_is_in_the_record(self) -> None:
        files = importlib.metadata.files("coilwright") or []
        names = {str(file) for file in files}
        self.assertLessEqual({"coilwright/py.typed", "coilwright/services.py", "coilwright/v1/__init__.py",
                              "coilwright/v1/job_service_pb2.pyi", "coilwright/v1/job_service_pb2_grpc.pyi"}, names)
        self.assertEqual([name for name in names if not name.startswith(("coilwright/", "coilwright-"))], [])
        for proto in (ROOT / "proto").rglob("*.proto"):
            self.assertIn(f"coilwright/v1/{proto.stem}_pb2.py", names)

    def test_a_folder_of_the_same_name_does_not_hide_it(self) -> None:
        program = "import coilwright.v1 as v1; print(v1.Band.DESCRIPTOR.full_name)"
        said = run(sys.executable, "-c", program, cwd=ROOT / "proto")
        self.assertEqual(said.stdout, "coilwright.v1.Band\n")

    def test_the_pure_python_protobuf_serves_as_well(self) -> None:
        program = ("import coilwright; from coilwright import v1; print(coilwright.to_dict(coilwright.from_dict("
                   "v1.GetTestLimitsRequest, {'rated_power': {'kw': 3}, 'choice': {'family': 2}})))")
        said = run(sys.executable, "-W", "ignore", "-c", program, PROTOCOL_BUFFERS_PYTHON_IMPLEMENTATION="python")
        self.assertEqual(said.stdout,
                         "{'rated_power': {'kw': 3.0}, 'choice': {'family': 'STANDARD_FAMILY_NEMA_MG_1'}}\n")


class Built(unittest.TestCase):
    def setUp(self) -> None:
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def test_twice_it_is_the_same_to_the_byte(self) -> None:
        before = sources()
        for kind in ("wheel", "sdist"):
            first, second = (build(PACKAGE, kind, self.folder / place, TZ=zone)
                             for place, zone in (("a", "UTC"), ("b", "Asia/Tokyo")))
            self.assertEqual(first.name, second.name)
            self.assertEqual(first.read_bytes(), second.read_bytes())
        self.assertEqual(sources(), before)

    def test_an_sdist_is_all_that_a_wheel_needs(self) -> None:
        sdist = build(PACKAGE, "sdist", self.folder)
        with tarfile.open(sdist) as archive:
            self.assertEqual([name for name in archive.getnames() if "_pb2" in name or "__pycache__" in name], [])
            archive.extractall(self.folder)
        wheel = build(self.folder / sdist.name.removesuffix(".tar.gz"), "wheel", self.folder / "from_sdist")
        self.assertEqual(wheel.read_bytes(), build(PACKAGE, "wheel", self.folder / "from_tree").read_bytes())
        with zipfile.ZipFile(wheel) as files:
            self.assertIsNone(files.testzip())
        target = self.folder / "target"
        installed = run(sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", target, sdist)
        self.assertTrue((target / "coilwright" / "v1" / "__init__.py").is_file(), installed.stdout)

    def test_without_protoc_it_says_what_to_install(self) -> None:
        with self.assertRaisesRegex(RuntimeError, "protoc is not installed; on Debian: apt-get install protobuf-comp"):
            build(PACKAGE, "wheel", self.folder, PATH="/nowhere")


class Typed(unittest.TestCase):
    def mypy(self, *what: object) -> subprocess.CompletedProcess[str]:
        return run("mypy", "--config-file", PACKAGE / "pyproject.toml", "--python-executable", sys.executable,
                   "--cache-dir", pathlib.Path(tempfile.gettempdir()) / "mypy", *what)

    def test_package_and_example_are_strict(self) -> None:
        for what in (["-p", "coilwright"], [PACKAGE / "examples" / "test_bench.py"],
                     sorted((PACKAGE / "backend").glob("*.py"))):
            checked = self.mypy(*what)
            self.assertEqual(checked.returncode, 0, checked.stdout)

    def test_wrong_names_and_kinds_are_seen(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            program = pathlib.Path(folder) / "wrong.py"
            program.write_text("import coilwright\n"
                               "from coilwright import v1\n"
                               "shop = coilwright.connect()\n"
                               "shop.test_limits\n"
                               "shop.test_limit.get_limits({})\n"
                               "shop.test_limit.get_test_limits(v1.GetRuleRequest())\n"
                               "shop.test_limit.get_test_limits({}).withstand\n"
                               "v1.GetTestLimitsRequest(rated_volts='400')\n"
                               "shop.test_limit.stream_test_limits({'machines': []})\n"
                               "for answer in shop.test_limit.stream_test_limits([]): answer.answer\n")
            said = self.mypy(program).stdout
        wrong = {int(line) for line in re.findall(r"wrong\.py:(\d+): error", said)}
        self.assertEqual(wrong, {4, 5, 6, 7, 8, 9, 10}, said)


if __name__ == "__main__":
    unittest.main()
