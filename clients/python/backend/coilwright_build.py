"""Build backend of this package (PEP 517): the files under src/ and the modules that protoc makes of the contract.

Standard library only. Nothing is written beside the sources, and the same tree gives the same bytes.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
import pathlib
import tarfile
import tempfile
import tomllib
import zipfile
from typing import Any

import contract
import generate

_HERE = pathlib.Path(__file__).resolve().parent.parent
_ABOVE = _HERE.parent.parent
# An sdist carries what stands above this folder in the repository.
_PROTO = _HERE / "proto" if (_HERE / "proto").is_dir() else _ABOVE / "proto"
_LICENSE = _HERE / "LICENSE" if (_HERE / "LICENSE").is_file() else _ABOVE / "LICENSE"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the first moment a zip file can name


def build_wheel(wheel_directory: str, config_settings: Any = None, metadata_directory: Any = None) -> str:
    """Writes the wheel and returns its file name."""
    project = _project()
    stem = f"{project['name']}-{project['version']}"
    files = _tree(_HERE / "src", "")
    with tempfile.TemporaryDirectory() as made:
        folder = pathlib.Path(made)
        services = contract.compile_protos(_PROTO, folder)
        generate.write_modules(services, folder / "coilwright")
        files |= _tree(folder, "")
    info = f"{stem}.dist-info"
    files[f"{info}/METADATA"] = _metadata(project)
    files[f"{info}/WHEEL"] = (b"Wheel-Version: 1.0\nGenerator: coilwright_build\nRoot-Is-Purelib: true\n"
                              b"Tag: py3-none-any\n")
    files[f"{info}/LICENSE"] = _LICENSE.read_bytes()
    record = "".join(f"{name},sha256={_digest(content)},{len(content)}\n" for name, content in sorted(files.items()))
    files[f"{info}/RECORD"] = f"{record}{info}/RECORD,,\n".encode()

    name = f"{stem}-py3-none-any.whl"
    with zipfile.ZipFile(pathlib.Path(wheel_directory) / name, "w") as wheel:
        for path, content in sorted(files.items()):
            entry = zipfile.ZipInfo(path, _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o100644 << 16
            wheel.writestr(entry, content)
    return name


def build_sdist(sdist_directory: str, config_settings: Any = None) -> str:
    """Writes the source archive, the contract in it, and returns its file name."""
    project = _project()
    stem = f"{project['name']}-{project['version']}"
    files = {"PKG-INFO": _metadata(project), "LICENSE": _LICENSE.read_bytes()}
    for name in ("pyproject.toml", "README.md"):
        files[name] = (_HERE / name).read_bytes()
    for folder in (_HERE / "backend", _HERE / "src", _HERE / "examples"):
        files |= _tree(folder, f"{folder.name}/")
    files |= _tree(_PROTO, "proto/", "*.proto")

    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w", format=tarfile.PAX_FORMAT) as sdist:
        for path, content in sorted(files.items()):
            entry = tarfile.TarInfo(f"{stem}/{path}")
            entry.size = len(content)
            sdist.addfile(entry, io.BytesIO(content))
    name = f"{stem}.tar.gz"
    (pathlib.Path(sdist_directory) / name).write_bytes(gzip.compress(packed.getvalue(), mtime=0))
    return name


def _project() -> dict[str, Any]:
    with open(_HERE / "pyproject.toml", "rb") as file:
        project: dict[str, Any] = tomllib.load(file)["project"]
    return project


def _metadata(project: dict[str, Any]) -> bytes:
    lines = [
        "Metadata-Version: 2.1",
        f"Name: {project['name']}",
        f"Version: {project['version']}",
        f"Summary: {project['description']}",
        f"License: {project['license']['text']}",
        f"Requires-Python: {project['requires-python']}",
        *(f"Requires-Dist: {dependency}" for dependency in project["dependencies"]),
        "Description-Content-Type: text/markdown",
        "",
        (_HERE / project["readme"]).read_text(),
    ]
    return "\n".join(lines).encode()


def _tree(folder: pathlib.Path, prefix: str, pattern: str = "*") -> dict[str, bytes]:
    """Files below a folder by their path in the archive."""
    return {
        prefix + path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob(pattern)
        if path.is_file() and "__pycache__" not in path.parts
    }


def _digest(content: bytes) -> str:
    return base64.urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
