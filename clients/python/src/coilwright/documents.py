"""Documents of the service as files."""

from __future__ import annotations

import os
import pathlib

from coilwright import v1

_ENDS = {"application/pdf": ".pdf", "image/svg+xml": ".svg"}


def write_document(document: v1.Document, path: str | os.PathLike[str]) -> list[pathlib.Path]:
    """Writes it, over what is there, and says where: drawing-1.svg and drawing-2.svg for two pages at drawing.svg.

    Each file is there whole or not at all. ValueError for a document of no files and for a name that says another format.
    """
    if not isinstance(document, v1.Document):
        raise TypeError(f"document: got {type(document).__name__}, accepted: the document of an answer")
    if not isinstance(path, str | os.PathLike):
        raise TypeError(f"path: got {type(path).__name__}, accepted: a path")
    to = pathlib.Path(path)
    end = _ENDS.get(document.media_type, to.suffix)
    if not document.files:
        raise ValueError("document: got no files, accepted: the document of an answer")
    if to.suffix.lower() != end:
        raise ValueError(f"path: got {str(path)!r}, accepted: a name that ends in {end}; document.format asks for another")
    pages = [to] if len(document.files) == 1 else [
        to.with_name(f"{to.stem}-{number}{to.suffix}") for number in range(1, len(document.files) + 1)]
    for page, content in zip(pages, document.files):
        part = page.with_name(f"{page.name}.{os.getpid()}.part")
        try:
            part.write_bytes(content)
            part.replace(page)
        finally:
            part.unlink(missing_ok=True)
    return pages
