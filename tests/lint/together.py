"""together.py <compile_commands.json> <folder>: the files of a room as a few that include them, for who spends most of
the time on what they include in turn. Written into the folder with a compile_commands.json; prints how many there are."""

import json
import pathlib
import re
import sys

MOST_FILES = 32  # of one: two run side by side, and the last should not be long alone

commands, folder = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]).resolve()
root = pathlib.Path(__file__).resolve().parents[2]
rooms = {}
for entry in json.loads(commands.read_text()):
    path = pathlib.Path(entry["file"])
    top = path.relative_to(root).parts[0] if path.is_relative_to(root) else ""
    if path.suffix != ".cc" or top not in ("proto", "service", "clients"):
        continue
    # What the compiler of the build precompiled, clang does not read.
    flags, output = re.sub(r"-Winvalid-pch -include \S+", "", entry["command"]).split(" -o ")
    target = re.match(r"\S+/CMakeFiles/[^/]+", output)[0]
    rooms.setdefault((flags, target, entry["directory"]), set()).add(path)

folder.mkdir(parents=True, exist_ok=True)
for old in folder.glob("*.cc"):
    old.unlink()
written = []
for (flags, _, directory), files in rooms.items():
    files = sorted(files)
    pieces = -(-len(files) // MOST_FILES)
    for piece in range(pieces):
        together = folder / f"{len(written)}.cc"
        lines = [f'#include "{file}"  // NOLINT(bugprone-suspicious-include)\n' for file in files[piece::pieces]]
        together.write_text("".join(lines))
        written.append({"directory": directory, "file": str(together), "command": f"{flags} -c {together}"})
(folder / "compile_commands.json").write_text(json.dumps(written))
print(sum(len(files) for files in rooms.values()))
