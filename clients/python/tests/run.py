"""run.py COILWRIGHTD: installs the package as its README says, into a fresh folder and without an index, and runs every
*_test.py here with it."""

from __future__ import annotations

import os
import pathlib
import subprocess
import sys
import tempfile

TESTS = pathlib.Path(__file__).resolve().parent
PACKAGE = TESTS.parent


def main() -> int:
    if len(sys.argv) < 2 or not os.access(sys.argv[1], os.X_OK):
        print("usage: run.py COILWRIGHTD [arguments of unittest]", file=sys.stderr)
        return 2
    daemon = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory(prefix="coilwright-python-") as folder:
        here = {name: value for name, value in os.environ.items() if not name.lower().endswith("_proxy")}
        here |= {"PIP_NO_INDEX": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_CACHE_DIR": "1",
                 "TMPDIR": folder, "PYTHONDONTWRITEBYTECODE": "1", "GRPC_VERBOSITY": "NONE",
                 "COILWRIGHTD": str(daemon)}
        here.pop("PYTHONPATH", None)
        python = f"{folder}/venv/bin/python"
        for step in (["/usr/bin/python3", "-m", "venv", "--system-site-packages", f"{folder}/venv"],
                     [f"{folder}/venv/bin/pip", "install", "--quiet", str(PACKAGE)]):
            subprocess.run(step, env=here, cwd=folder, check=True)
        tests = sys.argv[2:] or ["discover", "-p", "*_test.py"]
        run = subprocess.run([python, "-W", "default", "-m", "unittest", *tests], env=here, cwd=TESTS, check=False)
        return run.returncode


if __name__ == "__main__":
    sys.exit(main())
