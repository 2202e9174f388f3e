"""course_100k.py - the demo's course with 100,000 points: the same straight pieces, cut finer."""
import re
import shutil
from pathlib import Path

import numpy

POINTS = 100_000


def write_event(demo, folder):
    """A copy of the demo event in `folder`, with the long course."""
    if folder.exists():
        shutil.rmtree(folder)
    shutil.copytree(demo, folder)
    course = folder / "course.yaml"
    rows = re.findall(r"- \[([\d.]+), ([\d.]+), ([^\]]+)\]", course.read_text())
    km, elevation_m = (numpy.array([float(row[i]) for row in rows]) for i in (0, 1))
    # the demo's own points stay, so that the answers must be the demo's
    even = numpy.linspace(km[0], km[-1], POINTS - len(km) + 2)[1:-1]
    every_km = numpy.unique(numpy.round(numpy.concatenate([km, even]), 6))
    every_m = numpy.interp(every_km, km, elevation_m)
    marks = {at: row[2] for at, row in zip(km, rows)}
    lines = ["columns: {distance: km, elevation: m, mark: text}", "rows:"]
    lines += [f"  - [{at:.6f}, {z:.4f}, {marks.get(at, '~')}]" for at, z in zip(every_km, every_m)]
    course.write_text("\n".join(lines) + "\n")
    return len(every_km)
