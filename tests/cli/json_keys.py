#!/usr/bin/env python3
"""usage: json_keys.py THINAIR COURSES - every promised JSON key is there, numbers are finite, and the
JSON does not follow the unit system."""
import json
import subprocess
import sys

thinair, courses = sys.argv[1:3]
demo = courses + "/tolvane-dome"

POINT = {
    "ambient": "pressure_kPa temperature_K density_kg_m3 density_altitude_m",
    "engine": "speed_rpm air_flow_kg_s fuel_flow_kg_s map_kPa boost_kPa charge_temperature_K "
              "power_kW",
    "compressor": "inlet_pressure_kPa inlet_temperature_K outlet_pressure_kPa "
                  "outlet_temperature_K pressure_ratio corrected_flow_kg_s corrected_rpm efficiency "
                  "shaft_rpm tip_speed_m_s zone beyond_top_line thin_air_speed_factor",
    "limit": "rated_rpm limit_rpm shaft_over_limit shaft_over_rated",
    "cap": "map_kPa boost_kPa limited_by",
}
ALL = "thinair_version warnings"
PLAN = ("event since verdict reasons limit worst starts_over first_over over caps levers trace run")
TRACE = ("distance_m elevation_m ambient_kPa engine_rpm map_kPa shaft_rpm shaft_over_limit "
         "corrected_flow_kg_s pressure_ratio power_kW zone")
bad = []


def run(*arguments):
    def refuse(constant):
        bad.append(f"{arguments}: {constant} is no JSON")
    done = subprocess.run([thinair, *arguments], check=True, capture_output=True, text=True)
    return json.loads(done.stdout, parse_constant=refuse)


def want(where, value, keys):
    for key in keys.split():
        if key not in value:
            bad.append(f"{where}: {key} is missing")


def want_point(where, point):
    want(where, point, "drive " + " ".join(POINT))
    for group, keys in POINT.items():
        want(f"{where}.{group}", point.get(group, {}), keys)


def same(a, b, where):
    if a != b:
        bad.append(f"{where}: JSON follows --units")


point_of = ["point", demo, "--elevation", "4120 m", "--engine-speed", "7200 rpm", "--json"]
point = run(*point_of)
want("point", point, ALL)
want_point("point", point)
same(point, run(*point_of, "--units", "us"), "point")

plan = run("plan", demo, "--json")
want("plan", plan, ALL + " " + PLAN)
want_point("plan.worst", plan["worst"])
want("plan.worst", plan["worst"], "distance_m elevation_m mark")
want("plan.first_over", plan["first_over"], "distance_m elevation_m mark engine_rpm")
want("plan.over", plan["over"][0], "from_distance_m to_distance_m from_elevation_m to_elevation_m "
     "peak_shaft_rpm time_s judged_at")
want("plan.caps", plan["caps"], "constant schedule positions table")
want("plan.caps.table", plan["caps"]["table"],
     "ambient_kPa engine_rpm map_kPa can_be_had give_away_mean give_away_worst")
want("plan.drive", plan["drive"], "threshold_at_start_rpm threshold_at_top_rpm "
     "threshold expansion_ratio beyond_points cannot_hold")
for threshold in plan["drive"]["threshold"]:
    want("plan.drive.threshold", threshold, "elevation_m engine_rpm or_below is_known")
want("point.drive", point["drive"], "driven beyond_points expansion_ratio")
for lever in plan["levers"]:
    want("plan.levers", lever, "name shaft_share cap_kPa power_kW time_s misleads")
want("plan.run", plan["run"], "time_s over_limit_s over_rated_s peak_shaft_rpm first_over "
     "first_over_rated best strategies shaft_judged_at corner_length_m steps step_m last_change_s "
     "order")
want("plan", plan, "run_unknown_because")
if plan["run_unknown_because"] is not None:
    bad.append(f"plan: the run is known, and not: {plan['run_unknown_because']}")
past = run("plan", demo, "--map", "420 kPa", "--set", "car.control.map_sensor=500 kPa", "--json")
trace = past["trace"]
for key in ("shaft_rpm", "corrected_flow_kg_s", "pressure_ratio", "power_kW"):
    for zone, value in zip(trace["zone"], trace[key]):
        if zone == "unreachable" and value is not None:
            bad.append(f"plan.trace: {key} {value} where no point can be named")
if "unreachable" not in trace["zone"]:
    bad.append("plan.trace: nothing is unreachable")
want("plan.trace", plan["trace"], "time_s speed_m_s gear run_engine_rpm run_shaft_rpm throttle")
want("plan.caps.constant", plan["caps"]["constant"],
     "map_kPa boost_at_start_kPa power_kW time_s cost_s limited_by")
want("plan.caps", plan["caps"], "shift_speed")
CAP = "map_kPa limited_by per_10K_kPa power_kW"
for row in plan["caps"]["schedule"]:
    want("plan.caps.schedule", row, CAP + " ambient_kPa elevation_m boost_kPa engine_rpm")
for position in plan["caps"]["positions"]:
    want("plan.caps.positions", position,
         CAP + " from_distance_m from_elevation_m from_mark boost_at_start_kPa")
want("plan", plan, "over_at_redline start")
caps = [row["map_kPa"] for row in plan["caps"]["schedule"]]
if len(caps) != 8 or caps != sorted(caps, reverse=True):
    bad.append(f"plan.caps.schedule: {caps}")
if plan["caps"]["constant"]["map_kPa"] != min(p["map_kPa"] for p in plan["caps"]["positions"]):
    bad.append("plan.caps: the constant cap is that of the lowest position")
early = run("plan", demo, "--json", "--map", "200 kPa")
want("plan.caps.shift_speed", early["caps"]["shift_speed"],
     "engine_rpm whole_window elevation_m power_kW time_s cost_s")
gauge = run("plan", courses + "/red-lantern-canyon", "--json")
want("gauge plan", gauge, ALL + " " + PLAN)
want("plan.trace", plan["trace"], TRACE)
lengths = {len(column) for column in plan["trace"].values()}
if len(lengths) != 1:
    bad.append(f"plan.trace: columns of different lengths {lengths}")
same(plan, run("plan", demo, "--json", "--units", "us"), "plan")

# a quiet plan has the same keys
quiet = run("plan", demo, "--json", "--map", "120 kPa")
want("quiet plan", quiet, ALL + " " + PLAN)
if quiet["verdict"] != "clear" or quiet["first_over"] is not None or quiet["over"] != []:
    bad.append(f"quiet plan: {quiet['verdict']}, {quiet['first_over']}, {quiet['over']}")

# past what the map can tell there is no number
wild = run("plan", demo, "--json", "--map", "450 kPa")
if wild["verdict"] != "over" or wild["worst"]["compressor"]["shaft_rpm"] is not None:
    bad.append(f"wild plan: {wild['verdict']}, {wild['worst']['compressor']['shaft_rpm']}")

air = run("air", demo, "--elevation", "1460 m", "--elevation", "13500 ft", "--json")
want("air", air, ALL + " levels")
want("air.levels", air["levels"][1],
     "elevation_m pressure_altitude_m vapour_pressure_kPa virtual_temperature_K "
     + POINT["ambient"])
if abs(air["levels"][1]["elevation_m"] - 4114.8) > 1e-9:
    bad.append("air: 13,500 ft is 4,114.8 m")

course = run("course", demo + "/course.yaml", "--json")
want("course", course, ALL + " points distance_m ascent_m descent_m min_elevation_m max_elevation_m "
     "smoothing_m segments marks")
if abs(course["distance_m"] - 34000) > 1e-9 or course["smoothing_m"] is not None:
    bad.append(f"course: {course['distance_m']}, {course['smoothing_m']}")
track = run("course", courses + "/red-lantern-canyon/course.gpx", "--json")
if track["smoothing_m"] != 50 or track["segments"] != 1:
    bad.append(f"track: {track['smoothing_m']}, {track['segments']}")

compressor = run("compressor", demo + "/compressor.yaml", "--at", "15 kg/min, 2.4", "--json")
want("compressor", compressor, ALL + " reference lines at")
want("compressor.lines", compressor["lines"][0], "corrected_rpm points left_out_speed_rms")
want("compressor.at", compressor["at"][0],
     "corrected_flow_kg_s pressure_ratio corrected_rpm efficiency zone")

sensor_of = ["sensor", demo, "--json"]
sensor = run(*sensor_of)
want("sensor", sensor, ALL + " event blades divider speeds sampled_above_Hz sampled_for_edges_Hz gates "
     "wanted_step_rpm wanted_gate_s gap_m blade_counts")
want("sensor.speeds", sensor["speeds"][0], "name shaft_rpm of_rated frequency_Hz")
want("sensor.gates", sensor["gates"][0], "gate_s step_rpm")
want("sensor.blade_counts", sensor["blade_counts"][0], "blades shown_rpm shown_over_true alarm_at_rpm")
same(sensor, run(*sensor_of, "--units", "us"), "sensor")
sweep_of = ["sweep", demo, "--vary", "car.intake.pressure_drop=2,4 kPa", "--vary",
            "car.control.holds=absolute,gauge", "--json"]
sweep = run(*sweep_of)
want("sweep", sweep, ALL + " event time_strategy vary cells")
for cell in sweep["cells"]:
    want("sweep.cells", cell, "values state worst_shaft_rpm shaft_over_limit first_over_distance_m "
         "first_over_elevation_m first_over_mark summit_shaft_rpm cap_map_kPa "
         "cap_boost_at_start_kPa limited_by power_kW surge_margin time_s reason")
if sweep["vary"][0] != {"key": "car.intake.pressure_drop", "unit": "kPa", "values": [2, 4]}:
    bad.append(f"sweep.vary: {sweep['vary'][0]}")
for cell in sweep["cells"]:  # each as its own plan
    drop, holds = cell["values"]
    one = run("plan", demo, "--set", f"car.intake.pressure_drop={drop} kPa", "--set",
              f"car.control.holds={holds}", "--json")
    cap = one["caps"]["constant"]
    for name, got, plan_has in (("worst", cell["worst_shaft_rpm"],
                                 one["worst"]["compressor"]["shaft_rpm"]),
                                ("cap", cell["cap_map_kPa"], cap["map_kPa"]),
                                ("boost", cell["cap_boost_at_start_kPa"],
                                 cap["boost_at_start_kPa"]),
                                ("power", cell["power_kW"], cap["power_kW"]),
                                ("time", cell["time_s"], cap["time_s"])):
        if abs(got / plan_has - 1) > 1e-9:
            bad.append(f"sweep at {cell['values']}: {name} {got}, the plan has {plan_has}")
    if abs(cell["first_over_distance_m"] - one["first_over"]["distance_m"]) > 0.2:
        bad.append(f"sweep at {cell['values']}: first over {cell['first_over_distance_m']}")
same(sweep, run(*sweep_of, "--units", "us"), "sweep")

print("\n".join(bad))
sys.exit(1 if bad else 0)
