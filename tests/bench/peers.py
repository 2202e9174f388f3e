"""peers.py - the block solver's problem as a user of Python would solve it, three ways.

All solve the equations of thinair/operating_point.h, thin air included, for outlet temperature and
thin-air ratio to 1e-10, over the arrays of the same surface:
  scipy   a loop over points, scipy.optimize.brentq on the outlet temperature; the functions that it
          calls are plain Python over lists, which is quicker here than SciPy's own splines are for
          one value at a time
  numba   the same functions compiled, and secant passes in place of brentq
  numpy   the secant passes over whole arrays, in chunks that stay in the cache
"""
from collections import namedtuple
from math import exp, log, sqrt

import numba
import numpy
from scipy.optimize import brentq

R_DRY, EXPONENT = 287.05287, 2.0 / 7.0
MEET, MOST_PASSES = 1e-10, 60
LEAST_INLET_SHARE, LEAST_HEAD, UNREACHABLE_OVER_TOP = 0.05, 1e-12, 1.25
CHUNK = 1024

Car = namedtuple("Car", "ve_rpm ve flow_per_speed temperature_rise_k leak share intake_drop "
                        "charge_drop effectiveness ambient_cools coolant_k reference_pa "
                        "reference_k reynolds_exponent pressure_exponent")
Surface = namedtuple("Surface", "tau q per_flow cells_per_q top_rpm surge_v per_span_v "
                                "surge_w_per_y choke_y_per_w rpm_per_q efficiency")
Lane = namedtuple("Lane", "ambient_pa map_pa inlet_k coolant_k flow_k drop_over_flow2 "
                          "charge_over_flow2_k corrected_per_flow reynolds_per_pa")


def car_of(told):
    """From the car as bench_points tells it."""
    def coefficient(drop):
        drop_pa, at_flow, pressure, temperature = drop
        return drop_pa / at_flow**2 * pressure / (R_DRY * temperature)
    rpm, ve = zip(*told["ve"])
    fixed = told["coolant_k"] is not None
    return Car(numpy.array(rpm), numpy.array(ve),
               told["displacement_m3"] / (60.0 * told["revs_per_intake"]),
               told["temperature_rise_k"], told["leak"], told["turbo_share"],
               coefficient(told["intake_drop"]), coefficient(told["charge_drop"]),
               told["effectiveness"], 0.0 if fixed else 1.0, told["coolant_k"] if fixed else 0.0,
               told["reference_pa"], told["reference_k"], told["reynolds_exponent"],
               told["pressure_exponent"])


def surface_of(told, values):
    edge, whole = told["q"] + 2, (told["tau"] + 2) * (told["q"] + 2)
    arrays = numpy.split(values, numpy.cumsum([edge] * 4 + [whole]))
    return Surface(told["tau"], told["q"], told["per_flow"], told["cells_per_q"], told["top_rpm"],
                   *arrays)


def as_lists(record):
    return record._replace(**{name: value.tolist() for name, value in record._asdict().items()
                              if isinstance(value, numpy.ndarray)})


def scalar_functions(compiled):
    """One point at a time; compiled(f) gives f back as it is, or compiled by numba."""

    @compiled
    def cell(cells, count):
        x = min(max(cells, 0.0), count * (1.0 - 1e-15))
        whole = int(x)
        f = x - whole
        g = 1.0 - f
        return whole, 0.5 * g * g, 0.5 + f * g, 0.5 * f * f

    @compiled
    def along(c, i, a, b, d):
        return a * c[i] + b * c[i + 1] + d * c[i + 2]

    @compiled
    def over(c, stride, t, ta, tb, td, i, a, b, d):
        i += t * stride
        return (ta * along(c, i, a, b, d) + tb * along(c, i + stride, a, b, d) +
                td * along(c, i + 2 * stride, a, b, d))

    @compiled
    def locate(m, flow, y):
        w = m.per_flow * flow
        q = y + w
        i, a, b, d = cell(q * m.cells_per_q, m.q)
        tau = (w / q - along(m.surge_v, i, a, b, d)) * along(m.per_span_v, i, a, b, d)
        i, a, b, d = cell(y * m.cells_per_q, m.q)
        on_w = max(w, y * along(m.surge_w_per_y, i, a, b, d))
        i, a, b, d = cell(w * m.cells_per_q, m.q)
        on_y = max(y, w * along(m.choke_y_per_w, i, a, b, d))
        return tau, on_y + on_w, (y / on_y)**2

    @compiled
    def read(m, c, tau, q):
        t, ta, tb, td = cell(tau * m.tau, m.tau)
        i, a, b, d = cell(q * m.cells_per_q, m.q)
        return over(c, m.q + 2, t, ta, tb, td, i, a, b, d)

    @compiled
    def viscosity(temperature):
        return 1.458e-6 * temperature * sqrt(temperature) / (temperature + 110.4)

    @compiled
    def ve_at(car, rpm):
        if rpm <= car.ve_rpm[0]:
            return car.ve[0]
        for i in range(1, len(car.ve_rpm)):
            if rpm <= car.ve_rpm[i]:
                share = (rpm - car.ve_rpm[i - 1]) / (car.ve_rpm[i] - car.ve_rpm[i - 1])
                return car.ve[i - 1] + share * (car.ve[i] - car.ve[i - 1])
        return car.ve[-1]

    @compiled
    def lane_of(car, ambient_pa, ambient_k, gas, rpm, map_pa):
        inlet_k = ambient_k + car.temperature_rise_k
        carried = 1.0 + car.leak
        root = sqrt(gas * inlet_k / (R_DRY * car.reference_k))
        return Lane(ambient_pa, map_pa, inlet_k, car.ambient_cools * ambient_k + car.coolant_k,
                    car.flow_per_speed * rpm * ve_at(car, rpm) * map_pa / gas,
                    car.intake_drop * carried * carried * gas * ambient_k / ambient_pa,
                    car.charge_drop * gas, carried * car.share * root * car.reference_pa,
                    viscosity(car.reference_k) / (viscosity(inlet_k) * car.reference_pa * root))

    @compiled
    def back(car, m, lane, outlet_k, ratio):
        """Outlet temperature and thin-air ratio that come back; map point and inlet pressure."""
        flow = lane.flow_k / (outlet_k - car.effectiveness * (outlet_k - lane.coolant_k))
        flow2 = flow * flow
        inlet_pa = max(lane.ambient_pa - lane.drop_over_flow2 * flow2,
                       LEAST_INLET_SHARE * lane.ambient_pa)
        outlet_pa = 0.5 * (lane.map_pa + sqrt(lane.map_pa * lane.map_pa + 4.0 *
                                              lane.charge_over_flow2_k * flow2 * outlet_k))
        head = max((outlet_pa / inlet_pa)**EXPONENT - 1.0, LEAST_HEAD)
        per_root = 1.0 / sqrt(0.5 + 0.5 * ratio)
        map_flow = lane.corrected_per_flow * flow / inlet_pa * per_root
        map_y = sqrt(head) * per_root
        tau, q, recovered = locate(m, map_flow, map_y)
        on_line = read(m, m.efficiency, tau, q)
        loss = 0.3 + 0.7 * (inlet_pa * lane.reynolds_per_pa)**-car.reynolds_exponent
        here = 1.0 + (1.0 - loss) * (1.0 - on_line) / on_line
        return (lane.inlet_k * (1.0 + head / (on_line * recovered * here)), here, map_flow, map_y,
                inlet_pa)

    @compiled
    def shaft(car, m, lane, gas, map_flow, map_y, inlet_pa):
        tau, q, _ = locate(m, map_flow, map_y)
        map_rpm = q * read(m, m.rpm_per_q, tau, q)
        if not map_rpm <= UNREACHABLE_OVER_TOP * m.top_rpm:
            return numpy.inf
        factor = max((inlet_pa / car.reference_pa)**-car.pressure_exponent, 1.0)
        return map_rpm * factor * sqrt(gas * lane.inlet_k / (R_DRY * car.reference_k))

    @compiled
    def guess(lane):
        head = max((lane.map_pa / lane.ambient_pa)**EXPONENT - 1.0, 0.0)
        return lane.inlet_k * (1.0 + head / 0.7)

    @compiled
    def passes(car, m, points, answers):
        for i in range(points.shape[1]):
            gas = points[2, i]
            lane = lane_of(car, points[0, i], points[1, i], gas, points[3, i], points[4, i])
            before = guess(lane)
            gave, ratio, flow, y, inlet_pa = back(car, m, lane, before, 1.0)
            outlet_k = gave
            for _ in range(MOST_PASSES):
                at, was = outlet_k, ratio
                gives, ratio, flow, y, inlet_pa = back(car, m, lane, at, was)
                if abs(gives - at) <= MEET * at and abs(ratio - was) <= MEET:
                    break
                slope = (gives - gave) / (at - before) if at != before else 0.0
                outlet_k = at + (gives - at) / (1.0 - min(max(slope, -2.0), 0.5))
                before, gave = at, gives
            answers[i] = shaft(car, m, lane, gas, flow, y, inlet_pa)

    return lane_of, back, shaft, guess, passes


def scipy_loop(car, m, points):
    lane_of, back, shaft, guess, _ = scalar_functions(lambda function: function)
    answers = []

    for ambient_pa, ambient_k, gas, rpm, map_pa in points.T.tolist():
        lane = lane_of(car, ambient_pa, ambient_k, gas, rpm, map_pa)
        ratio = 1.0

        def excess(outlet_k):
            nonlocal ratio
            for _ in range(MOST_PASSES):
                gives, here, *_ = back(car, m, lane, outlet_k, ratio)
                moved, ratio = abs(here - ratio), here
                if moved <= MEET:
                    break
            return gives - outlet_k

        rise = guess(lane) - lane.inlet_k
        outlet_k = brentq(excess, lane.inlet_k + 0.5 * rise, lane.inlet_k + 2.0 * rise, xtol=1e-8,
                          rtol=MEET)
        answers.append(shaft(car, m, lane, gas, *back(car, m, lane, outlet_k, ratio)[2:]))
    return numpy.array(answers)


compiled_passes = scalar_functions(numba.njit(error_model="numpy"))[-1]


def numba_loop(car, m, points):
    answers = numpy.empty(points.shape[1])
    compiled_passes(car, m, points, answers)
    return answers


def cells(x, count):
    x = numpy.clip(x, 0.0, count * (1.0 - 1e-15))
    whole = x.astype(numpy.intp)
    f = x - whole
    g = 1.0 - f
    return whole, 0.5 * g * g, 0.5 + f * g, 0.5 * f * f


def along(c, cell):
    i, a, b, d = cell
    return a * c.take(i) + b * c.take(i + 1) + d * c.take(i + 2)


def read(m, c, tau, q):
    t, ta, tb, td = cells(tau * m.tau, m.tau)
    i, *weights = cells(q * m.cells_per_q, m.q)
    stride = m.q + 2
    i = i + t * stride
    return (ta * along(c, (i, *weights)) + tb * along(c, (i + stride, *weights)) +
            td * along(c, (i + 2 * stride, *weights)))


def locate(m, flow, y):
    w = m.per_flow * flow
    q = y + w
    at_q = cells(q * m.cells_per_q, m.q)
    tau = (w / q - along(m.surge_v, at_q)) * along(m.per_span_v, at_q)
    on_w = numpy.maximum(w, y * along(m.surge_w_per_y, cells(y * m.cells_per_q, m.q)))
    on_y = numpy.maximum(y, w * along(m.choke_y_per_w, cells(w * m.cells_per_q, m.q)))
    return tau, on_y + on_w, (y / on_y)**2


def viscosity(temperature):
    return 1.458e-6 * temperature * numpy.sqrt(temperature) / (temperature + 110.4)


def numpy_chunk(car, m, points):
    ambient_pa, ambient_k, gas, rpm, map_pa = points
    inlet_k = ambient_k + car.temperature_rise_k
    carried = 1.0 + car.leak
    coolant_k = car.ambient_cools * ambient_k + car.coolant_k
    root = numpy.sqrt(gas * inlet_k / (R_DRY * car.reference_k))
    flow_k = car.flow_per_speed * rpm * numpy.interp(rpm, car.ve_rpm, car.ve) * map_pa / gas
    drop_over_flow2 = car.intake_drop * carried**2 * gas * ambient_k / ambient_pa
    charge_over_flow2_k = car.charge_drop * gas
    corrected_per_flow = carried * car.share * root * car.reference_pa
    reynolds_per_pa = viscosity(car.reference_k) / (viscosity(inlet_k) * car.reference_pa * root)

    def back(outlet_k, ratio):
        flow = flow_k / (outlet_k - car.effectiveness * (outlet_k - coolant_k))
        flow2 = flow * flow
        inlet_pa = numpy.maximum(ambient_pa - drop_over_flow2 * flow2,
                                 LEAST_INLET_SHARE * ambient_pa)
        outlet_pa = 0.5 * (map_pa + numpy.sqrt(map_pa * map_pa +
                                               4.0 * charge_over_flow2_k * flow2 * outlet_k))
        head = numpy.maximum((outlet_pa / inlet_pa)**EXPONENT - 1.0, LEAST_HEAD)
        per_root = 1.0 / numpy.sqrt(0.5 + 0.5 * ratio)
        map_flow = corrected_per_flow * flow / inlet_pa * per_root
        map_y = numpy.sqrt(head) * per_root
        tau, q, recovered = locate(m, map_flow, map_y)
        on_line = read(m, m.efficiency, tau, q)
        loss = 0.3 + 0.7 * (inlet_pa * reynolds_per_pa)**-car.reynolds_exponent
        here = 1.0 + (1.0 - loss) * (1.0 - on_line) / on_line
        return inlet_k * (1.0 + head / (on_line * recovered * here)), here, map_flow, map_y, inlet_pa

    before = inlet_k * (1.0 + numpy.maximum((map_pa / ambient_pa)**EXPONENT - 1.0, 0.0) / 0.7)
    gave, ratio, *_ = back(before, numpy.ones_like(before))
    outlet_k = gave
    for _ in range(MOST_PASSES):
        at, was = outlet_k, ratio
        gives, ratio, flow, y, inlet_pa = back(at, was)
        missed = numpy.abs(gives - at)
        if (missed <= MEET * at).all() and (numpy.abs(ratio - was) <= MEET).all():
            break
        moved = at - before
        moved[moved == 0.0] = 1.0
        slope = numpy.clip((gives - gave) / moved, -2.0, 0.5)
        outlet_k = at + (gives - at) / (1.0 - slope)
        before, gave = at, gives

    tau, q, _ = locate(m, flow, y)
    map_rpm = q * read(m, m.rpm_per_q, tau, q)
    factor = numpy.maximum((inlet_pa / car.reference_pa)**-car.pressure_exponent, 1.0)
    return numpy.where(map_rpm <= UNREACHABLE_OVER_TOP * m.top_rpm, map_rpm * factor * root,
                       numpy.inf)


def numpy_arrays(car, m, points):
    return numpy.concatenate([numpy_chunk(car, m, points[:, i:i + CHUNK])
                              for i in range(0, points.shape[1], CHUNK)])


def peers(car, m, points):
    """(title, call without arguments, runs) of each."""
    car_lists, m_lists = as_lists(car), as_lists(m)
    return [("numba, compiled loop", lambda: numba_loop(car, m, points), 15),
            ("NumPy, whole arrays", lambda: numpy_arrays(car, m, points), 7),
            ("SciPy, loop over brentq", lambda: scipy_loop(car_lists, m_lists, points), 3)]
