"""What is shown runs: the snippet of the README and the example."""

import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

import coilwright
from coilwright import v1
from support import LiveTest

PACKAGE = pathlib.Path(__file__).resolve().parents[1]


class Documents(LiveTest):
    def run_program(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, *arguments], capture_output=True, text=True, timeout=30, check=False)

    def test_the_snippet_prints_what_the_readme_says(self) -> None:
        blocks = re.findall(r"```(\w*)\n(.*?)```", (PACKAGE / "README.md").read_text(), re.DOTALL)
        program = next(text for kind, text in blocks if kind == "python")
        (printed,) = [text for kind, text in blocks if kind == ""]
        self.assertIn("127.0.0.1:7360", program)
        run = self.run_program("-c", program.replace("127.0.0.1:7360", self.daemon.address))
        self.assertEqual((run.stdout, run.stderr), (printed, ""))

    def test_the_pages_of_a_document_go_to_a_file_each(self) -> None:
        drawing = v1.Document(files=[b"<svg>1</svg>", b"<svg>2</svg>"], media_type="image/svg+xml")
        with tempfile.TemporaryDirectory() as place:
            folder = pathlib.Path(place)
            pages = [folder / "winding-1.svg", folder / "winding-2.svg"]
            for _ in range(2):
                self.assertEqual(coilwright.write_document(drawing, folder / "winding.svg"), pages)
            self.assertEqual(pages[1].read_bytes(), b"<svg>2</svg>")
            for document, path, kind, said in (
                    (drawing, "a.pdf", ValueError, "path: got 'a.pdf', accepted: a name that ends in .svg"),
                    (v1.Document(), "a.svg", ValueError, "document: got no files"),
                    (None, "a.svg", TypeError, "document: got NoneType"), (drawing, 5, TypeError, "path: got int"),
                    (drawing, folder / "no" / "a.svg", FileNotFoundError, "a-1.svg")):
                with self.subTest(said), self.assertRaisesRegex(kind, said):
                    coilwright.write_document(document, path)  # type: ignore[arg-type]
            self.assertEqual(sorted(folder.iterdir()), pages)

    def test_the_example_shows_levels_runs_a_stop_and_a_verdict_with_their_cautions(self) -> None:
        run = self.run_program(str(PACKAGE / "examples" / "test_bench.py"), self.daemon.address)
        self.assertEqual((run.returncode, run.stderr), (0, ""))
        levels, sound, stopped, judged = run.stdout.split("\n\n")
        self.assertRegex(levels, r"retort pump 2 +withstand 1800 V ac rms, 60 s .* at least 5 megohms at 40 C")
        self.assertRegex(levels, r"waste auger +none: INVALID_ARGUMENT: rated_volts: got 0 V")
        self.assertRegex(levels, r"boiler feed pump +withstand 1035 V")
        self.assertRegex(sound, r"(?s) 30 s .* 60 s .* 600 s .*605 readings: pass\.")
        self.assertNotIn("STOP", sound)
        stop = re.search(r"STOP at (\d+) s: the current rises at constant voltage", stopped)
        readings = re.search(r"(\d+) readings: not valid\.", stopped)
        assert stop is not None and readings is not None, stopped
        # It climbs from 45 s on; the voltage is off with the reading that showed it.
        self.assertTrue(45 < int(stop[1]) < 100, stop[1])
        self.assertLessEqual(int(readings[1]), int(stop[1]) + 2)
        self.assertIn("earth the winding at least", stopped)
        self.assertIn("turn insulation not tested", judged)
        self.assertIn("next: surge comparison", judged)
        for part in (levels, sound, stopped, judged):
            self.assertIn("! local codes and a qualified person decide", part)

    def test_the_example_tells_in_one_line_why_it_cannot(self) -> None:
        for arguments, said in ((["127.0.0.1:1"], r"test_bench: UNAVAILABLE: no answer from 127\.0\.0\.1:1"),
                                (["nowhere"], r"test_bench: address: got 'nowhere', accepted: HOST:PORT"),
                                ([self.daemon.address, "--ca", "none.pem"], r"test_bench: .*none\.pem")):
            run = self.run_program(str(PACKAGE / "examples" / "test_bench.py"), *arguments)
            self.assertEqual(run.returncode, 1)
            self.assertRegex(run.stderr, said)
            self.assertEqual(run.stderr.count("\n"), 1)


if __name__ == "__main__":
    unittest.main()
