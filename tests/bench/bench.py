"""usage: bench.py BUILD SOURCE - check the answers, time everything, print one table.

Called by scripts/bench.  Nothing here is judged by its time; a wrong answer is not timed.
"""
import json
import os
import platform
import shlex
import statistics
import subprocess
import sys
import time
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # one core for everyone
build, source = Path(sys.argv[1]), Path(sys.argv[2])
sys.dont_write_bytecode = True  # no generated file in the tree

import numba
import numpy
import scipy

from course_100k import write_event
from peers import car_of, peers, surface_of

THINAIR, POINTS = build / "thinair", build / "tests/bench/bench_points"
DEMO, FOLDER = source / "courses/tolvane-dome", build / "bench"
COLD_RUNS, LONG_RUNS = 30, 10
AGREE = 1e-6  # relative, in shaft speed


def refuse(why):
    sys.exit(f"bench: {why}")


def compiler_and_flags():
    """Of the solver, as cmake compiled it."""
    commands = json.loads((build / "compile_commands.json").read_text())
    command = next(c["command"] for c in commands
                   if c["file"].endswith("src/model/operating_point.c"))
    words = shlex.split(command)
    flags = [w for w in words if w.startswith(("-O", "-f", "-m", "-g", "-std", "-D"))]
    levels = [f for f in flags if f.startswith("-O")]
    if not levels or levels[-1] not in ("-O2", "-O3") or any("sanitize" in f for f in flags):
        refuse("this is a debug or sanitized build; Release is timed")
    version = subprocess.run([words[0], "--version"], check=True, capture_output=True, text=True)
    return version.stdout.splitlines()[0], " ".join(flags)


def cpu():
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":")[1].strip()
    return platform.processor()


def process_seconds(*arguments):
    """Wall time of a process of its own, from its start to its end."""
    output = [(os.POSIX_SPAWN_OPEN, 1, "/dev/null", os.O_WRONLY, 0)]
    start = time.perf_counter()
    child = os.posix_spawn(THINAIR, [str(THINAIR), *arguments], os.environ, file_actions=output)
    status = os.waitpid(child, 0)[1]
    seconds = time.perf_counter() - start
    if status != 0:
        refuse(f"thinair {' '.join(arguments)} failed")
    return seconds


def peak_mb(*arguments):
    """By time(1): a process started from here would be charged with the memory of this one."""
    note = FOLDER / "peak"
    subprocess.run(["/usr/bin/time", "-f", "%M", "-o", note, THINAIR, *arguments], check=True,
                   stdout=subprocess.DEVNULL)
    return int(note.read_text()) * 1024 / 1e6


def plan_json(event):
    done = subprocess.run([THINAIR, "plan", event, "--json"], check=True, capture_output=True)
    return json.loads(done.stdout)


def check_long_course(event, count):
    """Its pieces are the demo's, so its answers must be."""
    long, short = plan_json(event), plan_json(DEMO)
    if len(long["trace"]["distance_m"]) != count:
        refuse(f"the long course has {len(long['trace']['distance_m'])} points, not {count}")
    if long["verdict"] != short["verdict"] or len(long["over"]) != len(short["over"]):
        refuse("the long course has another verdict than the demo's")
    figures = [("worst", "elevation_m", 0.2), ("first_over", "distance_m", 0.2)]
    for group, key, most in figures:
        a, b = long[group], short[group]
        if (a is None) != (b is None) or a is not None and not abs(a[key] - b[key]) <= most:
            refuse(f"the long course has another {group} than the demo's")
    a, b = long["caps"]["constant"]["map_kPa"], short["caps"]["constant"]["map_kPa"]
    if not abs(a - b) <= 1e-4 * b:
        refuse("the long course has another cap than the demo's")


def disagreement(answers, wanted):
    """Largest relative difference; where one has no speed, the other must have none."""
    if not (numpy.isfinite(answers) == numpy.isfinite(wanted)).all():
        return numpy.inf
    both = numpy.isfinite(wanted)
    return float(numpy.max(numpy.abs(answers[both] / wanted[both] - 1.0)))


def timed(call, runs):
    seconds = []
    for _ in range(runs):
        start = time.perf_counter()
        call()
        seconds.append(time.perf_counter() - start)
    return seconds


def process_row(title, runs, *arguments):
    seconds = [process_seconds(*arguments) for _ in range(runs)]
    return (title, str(runs), f"{1e3 * min(seconds):.1f} ms",
            f"{1e3 * statistics.median(seconds):.1f} ms", f"{peak_mb(*arguments):.1f} MB", "", "")


def points_row(title, runs, minimum, median, count, best):
    return (title, str(runs), f"{1e3 * minimum:.1f} ms", f"{1e3 * median:.1f} ms", "",
            f"{count / minimum:,.0f}", f"{minimum / best:,.1f}")


def print_table(rows):
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        print("  ".join([row[0].ljust(widths[0])] +
                        [cell.rjust(width) for cell, width in zip(row[1:], widths[1:])]).rstrip())


def main():
    compiler, flags = compiler_and_flags()
    FOLDER.mkdir(parents=True, exist_ok=True)
    rows = [("what", "runs", "minimum", "median", "peak memory", "points/s", "times thinair's")]

    demo, long = str(DEMO), FOLDER / "course-100k"
    count = write_event(DEMO, long)
    check_long_course(str(long), count)
    rows.append(process_row("plan, demo, cold process", COLD_RUNS, "plan", demo))
    rows.append(process_row("plan, demo, cold process, --json", COLD_RUNS, "plan", demo, "--json"))
    title = f"plan, {count:,} points, cold process"
    rows.append(process_row(title, LONG_RUNS, "plan", str(long)))
    rows.append(process_row(title + ", --json", LONG_RUNS, "plan", str(long), "--json"))

    done = subprocess.run([POINTS, DEMO, FOLDER], check=True, capture_output=True)
    told = json.loads(done.stdout)
    points = numpy.fromfile(FOLDER / "points.f64").reshape(5, told["points"])
    wanted = numpy.fromfile(FOLDER / "shaft.f64")
    surface = surface_of(told["surface"], numpy.fromfile(FOLDER / "surface.f64"))
    if not told["worst_residual"] <= 1e-9:
        refuse(f"a residual of {told['worst_residual']} was left")
    best = told["minimum_s"]
    rows.append(points_row("operating points, ta_points_solve", told["runs"], best,
                           told["median_s"], told["points"], best))
    worst = 0.0
    for title, call, runs in peers(car_of(told["car"]), surface, points):
        off = disagreement(call(), wanted)
        worst = max(worst, off)
        if not off <= AGREE:
            refuse(f"{title}: the answers differ by {off:.2g}, so its time says nothing")
        seconds = timed(call, runs)
        rows.append(points_row("operating points, " + title, runs, min(seconds),
                               statistics.median(seconds), told["points"], best))

    zones = ", ".join(f"{count:,} {zone}" for zone, count in told["zones"].items() if count)
    print(f"machine    {cpu()}, {os.cpu_count()} CPUs, {platform.system()} {platform.release()}, "
          f"load {os.getloadavg()[0]:.1f}")
    print(f"compiler   {compiler}; {flags}")
    print(f"solver     one core, {told['instructions']}, {told['passes']} passes; "
          f"{told['bracketed']:,} of {told['points']:,} points went to the bracketed solve; "
          f"largest residual {told['worst_residual']:.1e}")
    print(f"points     {zones}")
    print(f"peers      Python {platform.python_version()}, NumPy {numpy.__version__}, SciPy "
          f"{scipy.__version__}, numba {numba.__version__}; shaft speeds within {worst:.1e} of "
          "thinair's")
    print()
    print_table(rows)


main()
