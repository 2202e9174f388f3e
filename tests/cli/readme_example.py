#!/usr/bin/env python3
"""usage: readme_example.py THINAIR SOURCE_DIR - the README shows what the program prints, and the event
that it tells to write is read without an error."""
import re
import subprocess
import sys
import tempfile
from pathlib import Path

thinair, source = sys.argv[1], Path(sys.argv[2])
readme = (source / "README.md").read_text()

shown = re.search(r"    \$ build/thinair plan courses/tolvane-dome\n(.*?)\n\nHow to read it", readme, re.S)
printed = subprocess.run([thinair, "plan", "courses/tolvane-dome"], cwd=source, check=True,
                         capture_output=True, text=True).stdout.rstrip("\n")
wanted = "\n".join(("    " + line).rstrip() for line in printed.split("\n"))
bad = 0
if not shown or shown.group(1) != wanted:
    print("README.md does not show what is printed now:\n" + wanted)
    bad = 1

with tempfile.TemporaryDirectory() as folder:
    for block in re.findall(r"```yaml\n(.*?)```", readme, re.S):
        name = re.match(r"# (\w+\.yaml)", block)
        if name:
            (Path(folder) / name.group(1)).write_text(block)
    done = subprocess.run([thinair, "plan", folder], capture_output=True, text=True)
    if done.returncode != 0:
        print("the event of the README is refused:\n" + done.stderr)
        bad = 1
sys.exit(bad)
