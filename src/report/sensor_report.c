/* sensor_report.c - a shaft-speed sensor: its pulses, the logger it needs, how a wrong setting shows. */
#include <math.h>
#include <stdio.h>

#include "sentences.h"
#include "thinair/report.h"
#include "thinair/speed_sensor.h"

enum { SPEEDS = 4, GATES = 3, SET_IN = 10 };
static const double GATES_S[GATES] = {1e-3, 10e-3, 100e-3};
static const double STEPS_TO_RATED = 10.0; /* from the limit: what a logger should tell apart */

typedef struct {
  const char *name;
  double shaft_rpm, of_rated, frequency_hz;
} speed_row;

typedef struct {
  double gate_s, step_rpm;
} gate_row;

typedef struct {
  double blades, shown_rpm, shown_over_true, alarm_at_rpm;
  const char *remark;
} count_row;

/* frequency_Hz is a bare number: the unit table knows Hz as a rotation alone */
static const ta_column speed_columns[] = {
    {"name", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(speed_row, name)},
    {"shaft", "shaft", TA_CELL_NUMBER, TA_SHOW_RPM, offsetof(speed_row, shaft_rpm)},
    {"of_rated", "of rated", TA_CELL_NUMBER, TA_SHOW_SHARE, offsetof(speed_row, of_rated)},
    {"frequency_Hz", "pulses Hz", TA_CELL_NUMBER, TA_SHOW_COUNT_OF,
     offsetof(speed_row, frequency_hz)},
};
static const ta_column gate_columns[] = {
    {"gate", "gate", TA_CELL_NUMBER, TA_SHOW_GATE, offsetof(gate_row, gate_s)},
    {"step", "one pulse is", TA_CELL_NUMBER, TA_SHOW_RPM, offsetof(gate_row, step_rpm)},
};
static const ta_column count_columns[] = {
    {"blades", "set to", TA_CELL_NUMBER, TA_SHOW_COUNT_OF, offsetof(count_row, blades)},
    {"shown", "at the limit it shows", TA_CELL_NUMBER, TA_SHOW_RPM, offsetof(count_row, shown_rpm)},
    {"shown_over_true", "of the true", TA_CELL_NUMBER, TA_SHOW_SHARE,
     offsetof(count_row, shown_over_true)},
    {"alarm_at", "its alarm sounds at", TA_CELL_NUMBER, TA_SHOW_RPM,
     offsetof(count_row, alarm_at_rpm)},
    {"", "", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(count_row, remark)},
};

typedef struct {
  speed_row speed[SPEEDS];
  gate_row gate[GATES];
  count_row count[TA_SENSOR_COUNTS_MAX];
  ta_table speeds, gates, counts;
  double sampled_above_hz, sampled_for_edges_hz;
  double wanted_rpm, wanted_gate_s; /* the gate is infinite where limit and rated are one */
} sensor_view;

static void view_of(const ta_prepared *prepared, sensor_view *view) {
  const ta_turbo *turbo = &prepared->event->car.turbo;
  const ta_speed_sensor *sensor = &turbo->sensor;
  const double alarm_rpm = ta_alarm_rpm(prepared), rated_rpm = turbo->rated_rpm;
  const speed_row speed[SPEEDS] = {
      {.name = "limit", .shaft_rpm = prepared->limit_rpm},
      {.name = "alarm", .shaft_rpm = alarm_rpm},
      {.name = "rated", .shaft_rpm = rated_rpm},
      {.name = "to be read", .shaft_rpm = TA_SENSOR_REACH_OVER_RATED * rated_rpm}};
  for (size_t i = 0; i < SPEEDS; i++) {
    view->speed[i] = speed[i];
    view->speed[i].of_rated = speed[i].shaft_rpm / rated_rpm;
    view->speed[i].frequency_hz = ta_sensor_frequency(sensor, speed[i].shaft_rpm);
  }
  for (size_t i = 0; i < GATES; i++)
    view->gate[i] = (gate_row){GATES_S[i], ta_sensor_step(sensor, GATES_S[i])};
  double blades[TA_SENSOR_COUNTS_MAX];
  const int counts = ta_sensor_counts(sensor, blades);
  for (int i = 0; i < counts; i++) {
    const double shown_rpm = ta_sensor_shown(sensor, prepared->limit_rpm, blades[i]),
                 shown_over_true = shown_rpm / prepared->limit_rpm;
    const double alarm_at_rpm = alarm_rpm / shown_over_true;
    view->count[i] = (count_row){blades[i], shown_rpm, shown_over_true, alarm_at_rpm,
                                 blades[i] == sensor->blades ? "right"
                                 : alarm_at_rpm > rated_rpm  ? "too late: past the rated speed"
                                                             : ""};
  }
  const double highest_hz = view->speed[SPEEDS - 1].frequency_hz;
  view->sampled_above_hz = TA_SENSOR_SAMPLES_LEAST * highest_hz;
  view->sampled_for_edges_hz = TA_SENSOR_SAMPLES_FOR_EDGES * highest_hz;
  view->wanted_rpm = (rated_rpm - prepared->limit_rpm) / STEPS_TO_RATED;
  view->wanted_gate_s = ta_sensor_gate(sensor, view->wanted_rpm);
#define TABLE(columns, rows, count) \
  ((ta_table){columns, sizeof(columns) / sizeof(columns)[0], rows, count, sizeof(rows)[0]})
  view->speeds = TABLE(speed_columns, view->speed, SPEEDS);
  view->gates = TABLE(gate_columns, view->gate, GATES);
  view->counts = TABLE(count_columns, view->count, (size_t)counts);
#undef TABLE
}

static void gap_text(const ta_speed_sensor *sensor, ta_unit_system units, ta_buffer *out) {
  char text[TA_SENTENCE_MAX], gap[TA_SHOWN_MAX], pitch[TA_SHOWN_MAX];
  if (sensor->has_thread_pitch && sensor->has_turns_back) {
    const int decimals = units == TA_US ? 4 : 2;
    (void)snprintf(
        text, sizeof text,
        "%s = %.3g turns back of a thread of %s: with the shaft still and a blade under the "
        "sensor, screw it in until it touches, then back (common practice). Its maker's "
        "instructions govern.",
        ta_show_quantity(TA_SHOW_WHEEL, units, decimals, ta_sensor_gap(sensor), gap),
        sensor->turns_back,
        ta_show_quantity(TA_SHOW_WHEEL, units, decimals, sensor->thread_pitch_m, pitch));
  } else {
    (void)snprintf(text, sizeof text,
                   "not known. For a threaded sensor give car.turbo.sensor.thread_pitch and "
                   "car.turbo.sensor.turns_back, the turns that its maker has it backed off after "
                   "it touches (1.6 in one common case; common practice).");
  }
  ta_buffer_add(out, "\n");
  ta_headed(out, TA_LINE_WIDTH, SET_IN, "Gap", text);
}

static void sensor_text(const ta_prepared *prepared, const sensor_view *view,
                        const ta_warnings *warnings, ta_unit_system units, ta_buffer *out) {
  const ta_event *event = prepared->event;
  const ta_speed_sensor *sensor = &event->car.turbo.sensor;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], alarm[3 * TA_SHOWN_MAX], text[TA_SENTENCE_MAX];
  (void)snprintf(text, sizeof text, "%s, %s", event->name, event->car.name);
  ta_folded(out, TA_LINE_WIDTH, 0, text);
  ta_buffer_add(out, "Shaft-speed sensor: %.0f blades pass it, %.0f for a pulse\n\n",
                sensor->blades, sensor->divider);
  ta_table_text(&view->speeds, units, out);
  if (ta_alarm_has_room(prepared))
    (void)snprintf(alarm, sizeof alarm, "Set the alarm at %s, between limit and rated speed.",
                   ta_show_quantity(TA_SHOW_RPM, units, -1, view->speed[1].shaft_rpm, a));
  else
    (void)snprintf(alarm, sizeof alarm,
                   "There is no room for an alarm between limit and rated speed: see the note.");
  (void)snprintf(text, sizeof text,
                 "%s The logger must read on to "
                 "%.1f times the rated speed: it is the overspeed whose height must be known "
                 "afterwards, and an input that gives up shows a lower speed, or none.",
                 alarm, TA_SENSOR_REACH_OVER_RATED);
  ta_buffer_add(out, "\n");
  ta_folded(out, TA_LINE_WIDTH, 0, text);
  (void)snprintf(text, sizeof text,
                 "more than %s Hz, twice the highest frequency, or the speed shows as a lower one "
                 "(sampling theorem: Shannon, Proc. IRE 37, 1949, 10); %s Hz to place the edges "
                 "(ten times; common practice).",
                 ta_show_number(TA_SHOW_COUNT_OF, units, -1, view->sampled_above_hz, a),
                 ta_show_number(TA_SHOW_COUNT_OF, units, -1, view->sampled_for_edges_hz, b));
  ta_buffer_add(out, "\n");
  ta_headed(out, TA_LINE_WIDTH, SET_IN, "Sampled", text);
  ta_headed(out, TA_LINE_WIDTH, SET_IN, "Counted",
            "over a gate, one pulse more or less is a step of the speed shown:");
  ta_table_text(&view->gates, units, out);
  if (isfinite(view->wanted_gate_s))
    ta_buffer_add(out, "%s, a tenth of the way from limit to rated, takes a gate of %s.\n",
                  ta_show_quantity(TA_SHOW_RPM, units, -1, view->wanted_rpm, a),
                  ta_show_quantity(TA_SHOW_GATE, units, -1, view->wanted_gate_s, b));
  gap_text(sensor, units, out);
  ta_buffer_add(out, "\nA logger set to a wrong number of blades is off by the ratio:\n");
  ta_table_text(&view->counts, units, out);
  ta_folded(
      out, TA_LINE_WIDTH, 0,
      "Splitter blades reach some sensors and not others: count what passes the sensor's tip. "
      "Too high a number is the dangerous one, the shaft then turns faster than it shows.");
  ta_warnings_text(warnings, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

static void sensor_json(const ta_prepared *prepared, const sensor_view *view,
                        const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  const ta_speed_sensor *sensor = &prepared->event->car.turbo.sensor;
  ta_json json = {.out = out};
  ta_json_open(&json, NULL, '{');
  ta_json_text(&json, "thinair_version", style->version);
  ta_json_text(&json, "event", prepared->event->name);
  ta_json_number(&json, "blades", sensor->blades);
  ta_json_number(&json, "divider", sensor->divider);
  ta_json_rows(&json, "speeds", &view->speeds);
  ta_json_number(&json, "sampled_above_Hz", view->sampled_above_hz);
  ta_json_number(&json, "sampled_for_edges_Hz", view->sampled_for_edges_hz);
  ta_json_rows(&json, "gates", &view->gates);
  ta_json_number(&json, "wanted_step_rpm", view->wanted_rpm);
  ta_json_number(&json, "wanted_gate_s", view->wanted_gate_s);
  ta_json_number(
      &json, "gap_m",
      sensor->has_thread_pitch && sensor->has_turns_back ? ta_sensor_gap(sensor) : (double)NAN);
  const ta_table counts = {view->counts.column, view->counts.column_count - 1, view->counts.row,
                           view->counts.row_count,
                           view->counts.row_size}; /* the remark is text's */
  ta_json_rows(&json, "blade_counts", &counts);
  ta_warnings_json(warnings, &json);
  ta_json_close(&json, '}');
}

void ta_report_sensor(const ta_prepared *prepared, const ta_diagnostics *diagnostics,
                      const ta_style *style, ta_buffer *out) {
  sensor_view view;
  ta_warnings warnings;
  view_of(prepared, &view);
  ta_warnings_collect(NULL, NULL, diagnostics, style->units, &warnings);
  ta_warn_of_alarm(prepared, style->units, &warnings);
  if (style->format == TA_FORMAT_TEXT)
    sensor_text(prepared, &view, &warnings, style->units, out);
  else if (style->format == TA_FORMAT_JSON)
    sensor_json(prepared, &view, &warnings, style, out);
  else
    ta_table_csv(&view.speeds, style->units, out);
}
