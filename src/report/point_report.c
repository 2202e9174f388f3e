/* point_report.c - one operating point. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "point_view.h"
#include "sentences.h"
#include "thinair/caps.h"
#include "thinair/report.h"

#define COLUMN(name, title, show, member) \
  { name, title, TA_CELL_NUMBER, show, offsetof(ta_point_view, member) }

static const ta_column ambient[] = {
    COLUMN("pressure", "ambient", TA_SHOW_AMBIENT, point.ambient.pressure_pa),
    COLUMN("temperature", "temperature", TA_SHOW_TEMPERATURE, point.ambient.temperature_k),
    COLUMN("density", "density", TA_SHOW_DENSITY, point.ambient.density_kgm3),
    COLUMN("density_altitude", "density altitude", TA_SHOW_ELEVATION, density_altitude_m),
};
static const ta_column engine[] = {
    COLUMN("speed", "engine speed", TA_SHOW_RPM, point.engine_rpm),
    COLUMN("air_flow", "air flow", TA_SHOW_FLOW, point.air_flow_kg_s),
    COLUMN("fuel_flow", "fuel flow", TA_SHOW_FLOW, point.fuel_flow_kg_s),
    COLUMN("map", "MAP", TA_SHOW_MAP, point.map_pa),
    COLUMN("boost", "boost", TA_SHOW_BOOST, boost_pa),
    COLUMN("charge_temperature", "charge temperature", TA_SHOW_TEMPERATURE,
           point.charge_temperature_k),
    COLUMN("power", "power", TA_SHOW_POWER, point.power_w),
};
static const ta_column compressor[] = {
    COLUMN("inlet_pressure", "inlet pressure", TA_SHOW_STATION, point.inlet_pressure_pa),
    COLUMN("inlet_temperature", "inlet temperature", TA_SHOW_TEMPERATURE,
           point.inlet_temperature_k),
    COLUMN("outlet_pressure", "outlet pressure", TA_SHOW_STATION, point.outlet_pressure_pa),
    COLUMN("outlet_temperature", "outlet temperature", TA_SHOW_TEMPERATURE,
           point.outlet_temperature_k),
    COLUMN("pressure_ratio", "pressure ratio", TA_SHOW_RATIO, point.pressure_ratio),
    COLUMN("corrected_flow", "corrected flow", TA_SHOW_FLOW, point.corrected_flow_kg_s),
    COLUMN("corrected", "corrected speed", TA_SHOW_RPM, point.corrected_rpm),
    COLUMN("efficiency", "efficiency", TA_SHOW_RATIO, point.efficiency),
    COLUMN("shaft", "shaft speed", TA_SHOW_RPM, point.shaft_rpm),
    COLUMN("tip_speed", "tip speed", TA_SHOW_SPEED, tip_speed_ms),
    {"zone", "zone", TA_CELL_ZONE, TA_SHOW_RATIO, offsetof(ta_point_view, point.zone)},
    COLUMN("beyond_top_line", "beyond the top line", TA_SHOW_RATIO, point.beyond_top_line),
    COLUMN("thin_air_speed_factor", "thin-air speed factor", TA_SHOW_RATIO,
           point.thin_air_speed_factor),
    COLUMN("restrictor_share", "of the restrictor's choke", TA_SHOW_RATIO, restrictor_share),
};
static const ta_column limit[] = {
    COLUMN("rated", "rated speed", TA_SHOW_RPM, rated_rpm),
    COLUMN("limit", "limit", TA_SHOW_RPM, limit_rpm),
    COLUMN("shaft_over_limit", "shaft over limit", TA_SHOW_RATIO, shaft_over_limit),
    COLUMN("shaft_over_rated", "shaft over rated", TA_SHOW_RATIO, shaft_over_rated),
};
static const ta_column cap[] = {
    COLUMN("map", "MAP at the limit", TA_SHOW_MAP, cap_map_pa),
    COLUMN("boost", "boost at the limit", TA_SHOW_BOOST, cap_boost_pa),
    {"limited_by", "limited by", TA_CELL_TEXT, TA_SHOW_RATIO,
     offsetof(ta_point_view, cap_limited_by)},
};

static const ta_column drive[] = {
    {"driven", "can be driven", TA_CELL_TEXT, TA_SHOW_RATIO, offsetof(ta_point_view, driven)},
    COLUMN("highest_map", "highest MAP held", TA_SHOW_MAP, driven_map_pa),
    COLUMN("exhaust_flow", "exhaust flow", TA_SHOW_FLOW, drive.exhaust_flow_kg_s),
    COLUMN("inlet_pressure", "turbine inlet pressure", TA_SHOW_STATION, drive.inlet_pressure_pa),
    COLUMN("outlet_pressure", "turbine outlet pressure", TA_SHOW_STATION, drive.outlet_pressure_pa),
    COLUMN("expansion_ratio", "expansion ratio", TA_SHOW_RATIO, drive.expansion_ratio),
    COLUMN("wastegate_share", "past the turbine", TA_SHOW_RATIO, drive.wastegate_share),
    COLUMN("turbine_power", "power of one turbine", TA_SHOW_POWER, drive.power_w),
};

#define GROUP(name) \
  { #name, name, sizeof(name) / sizeof(name)[0] }
static const struct {
  const char *name;
  const ta_column *column;
  size_t count;
} groups[] = {GROUP(ambient), GROUP(engine), GROUP(compressor), GROUP(limit), GROUP(cap)};

double ta_density_altitude_of(const ta_air *air) {
  double height;
  return ta_density_altitude(air->density_kgm3, &height) == TA_OK ? ta_geometric_m(height)
                                                                  : (double)NAN;
}

const ta_operating_point *ta_point_at_cap(const ta_prepared *prepared,
                                          const ta_operating_point *point,
                                          ta_operating_point *at_cap) {
  const ta_car *car = &prepared->event->car;
  const ta_air *air = &point->ambient;
  double cap_pa;
  const bool reached = ta_point_cap(car, prepared->map, air, point->engine_rpm, prepared->limit_rpm,
                                    TA_HIGHEST_MAP_OVER_AMBIENT * air->pressure_pa, &cap_pa);
  return reached &&
                 ta_point_solve(car, prepared->map, air, point->engine_rpm, cap_pa, at_cap) == TA_OK
             ? at_cap
             : NULL;
}

ta_point_view ta_point_view_of(const ta_prepared *prepared, const ta_operating_point *point,
                               const ta_operating_point *at_cap) {
  const ta_turbo *turbo = &prepared->event->car.turbo;
  const double unknown = (double)NAN;
  ta_point_view view = {
      .point = *point,
      .density_altitude_m = ta_density_altitude_of(&point->ambient),
      .boost_pa = point->map_pa - point->ambient.pressure_pa,
      .tip_speed_ms = turbo->compressor.has_exducer
                          ? acos(-1.0) * turbo->compressor.exducer_m * point->shaft_rpm / 60.0
                          : unknown,
      .rated_rpm = turbo->rated_rpm,
      .limit_rpm = prepared->limit_rpm,
      .shaft_over_limit = point->shaft_rpm / prepared->limit_rpm,
      .shaft_over_rated = point->shaft_rpm / turbo->rated_rpm,
      .cap_map_pa = at_cap != NULL ? at_cap->map_pa : unknown,
      .cap_boost_pa = at_cap != NULL ? at_cap->map_pa - point->ambient.pressure_pa : unknown,
      .restrictor_share =
          prepared->event->car.intake.has_restrictor ? point->restrictor_share : unknown,
  };
  if (at_cap != NULL) {
    const ta_limited_by by = ta_limited_by_point(at_cap->zone, at_cap->restrictor_share);
    view.cap_limited_by = ta_limited_by_name(by);
    view.cap_limited_by_words = ta_say_limited_by(by);
  }
  view.has_drive =
      turbo->has_turbine && ta_point_drive(&prepared->event->car, point, &view.drive) == TA_OK;
  if (view.has_drive) {
    static const char *const words[2][2] = {
        {"no", "no, past the turbine's typed points: an estimate"},
        {"yes", "yes, past the turbine's typed points: an estimate"}};
    view.driven = words[view.drive.driven][view.drive.beyond_points];
    const double highest_pa = TA_HIGHEST_MAP_OVER_AMBIENT * point->ambient.pressure_pa;
    ta_highest_held_map(prepared, &point->ambient, &point->engine_rpm, 1, &highest_pa,
                        &view.driven_map_pa);
  }
  if (point->zone == TA_UNREACHABLE) { /* what hangs on the compressor is not known there */
    ta_operating_point *p = &view.point;
    p->air_flow_kg_s = p->fuel_flow_kg_s = p->power_w = p->charge_temperature_k = unknown;
    p->inlet_pressure_pa = p->outlet_pressure_pa = p->outlet_temperature_k = unknown;
    p->pressure_ratio = p->corrected_flow_kg_s = p->efficiency = unknown;
    p->thin_air_speed_factor = unknown;
  }
  return view;
}

void ta_point_json(ta_json *json, const ta_point_view *view) {
  for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
    const ta_table table = {groups[i].column, groups[i].count, view, 1, sizeof *view};
    ta_json_open(json, groups[i].name, '{');
    ta_json_cells(json, &table, 0);
    ta_json_close(json, '}');
  }
  if (view->has_drive) {
    /* all but the first column, whose words are a truth value here */
    const ta_table table = {drive + 1, sizeof drive / sizeof drive[0] - 1, view, 1, sizeof *view};
    ta_json_open(json, "drive", '{');
    ta_json_bool(json, "driven", view->drive.driven);
    ta_json_bool(json, "beyond_points", view->drive.beyond_points);
    ta_json_cells(json, &table, 0);
    ta_json_close(json, '}');
  } else {
    ta_json_null(json, "drive");
  }
}

/* One group as "title value" lines. */
static void group_text(const char *heading, const ta_column *column, size_t count,
                       const ta_point_view *view, ta_unit_system units, ta_buffer *out) {
  for (size_t i = 0; i < count; i++) {
    const char *at = (const char *)view + column[i].offset;
    char text[TA_SHOWN_MAX], zone[TA_SENTENCE_MAX];
    const char *shown;
    if (column[i].cell == TA_CELL_NUMBER)
      shown = ta_show_quantity(column[i].show, units, -1, *(const double *)(const void *)at, text);
    else if (column[i].cell == TA_CELL_ZONE)
      shown = ta_say_zone(&view->point, zone);
    else
      shown = *(const char *const *)(const void *)at;
    ta_buffer_add(out, "%-11s %-24s %s\n", i == 0 ? heading : "", column[i].title,
                  shown != NULL ? shown : "-");
  }
}

/* The cap as people read it: rounded down, and what limits it in words. */
static void cap_text(const ta_point_view *view, ta_unit_system units, ta_buffer *out) {
  ta_point_view shown = *view;
  shown.cap_map_pa = ta_show_rounded_down(TA_SHOW_MAP, units, view->cap_map_pa);
  shown.cap_boost_pa = ta_show_rounded_down(TA_SHOW_BOOST, units, view->cap_boost_pa);
  shown.cap_limited_by = view->cap_limited_by_words;
  group_text("Cap here", cap, sizeof cap / sizeof cap[0], &shown, units, out);
}

static void drive_text(const ta_prepared *prepared, const ta_point_view *view, ta_unit_system units,
                       ta_buffer *out) {
  if (view->has_drive)
    group_text("Drive", drive, sizeof drive / sizeof drive[0], view, units, out);
  else
    ta_buffer_add(out, "%-11s %s\n", "Drive",
                  prepared->event->car.turbo.has_turbine
                      ? "not known at this point"
                      : "not checked: no turbine in the car file");
}

/* What the controller can neither see nor hold, and a hot compressor outlet. */
static void add_warnings(const ta_prepared *prepared, const ta_point_view *view, double elevation_m,
                         ta_unit_system units, ta_warnings *warnings) {
  const ta_control *control = &prepared->event->car.control;
  const ta_operating_point *point = &view->point;
  const double reach_pa = ta_sensor_reach(control),
               spring_pa = point->ambient.pressure_pa + control->minimum_boost_pa;
  const bool unseen = point->map_pa > reach_pa, cap_unseen = view->cap_map_pa > reach_pa;
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX];
  if (unseen || cap_unseen)
    ta_warnings_add(warnings,
                    "the controller's pressure sensor ends at %s and is blind above 98 %% of that, "
                    "%s: it can hold %s",
                    ta_show_quantity(TA_SHOW_MAP, units, -1, control->map_sensor_pa, a),
                    ta_show_cap(TA_SHOW_MAP, units, reach_pa, b),
                    !cap_unseen ? "no MAP like this point's"
                    : unseen    ? "neither this point's MAP nor the cap here"
                                : "no MAP as high as the cap here");
  const double set_point = ta_prepared_goal(prepared, point->engine_rpm);
  if (ta_spring_rules(prepared, set_point, point->ambient.pressure_pa) &&
      point->map_pa >= ta_judged_map(prepared, set_point, point->ambient.pressure_pa))
    ta_warnings_add(warnings,
                    "the wastegate's spring gives more than the target asks for here: the MAP is "
                    "the spring's");
  if (control->has_minimum_boost && view->cap_map_pa < spring_pa)
    ta_warnings_add(warnings, "the wastegate's spring alone gives %s here, more than the cap",
                    ta_show_quantity(TA_SHOW_MAP, units, -1, spring_pa, a));
  ta_warn_of_heat(warnings, units, point->outlet_temperature_k, point->engine_rpm,
                  ta_show_quantity(TA_SHOW_ELEVATION, units, -1, elevation_m, a));
}

static void point_text(const ta_prepared *prepared, const ta_point_view *view, double elevation_m,
                       const ta_warnings *warnings, const ta_style *style, ta_buffer *out) {
  char a[TA_SHOWN_MAX], b[TA_SHOWN_MAX], c[TA_SHOWN_MAX], d[TA_SHOWN_MAX], zone[TA_SENTENCE_MAX];
  const ta_operating_point *point = &view->point;
  const ta_unit_system units = style->units;
  const char *strong = style->colour ? "\033[1m" : "", *plain = style->colour ? "\033[0m" : "";
  if (isinf(point->shaft_rpm))
    ta_buffer_add(out, "%sOVER THE LIMIT%s of %s: %s", strong, plain,
                  ta_show_quantity(TA_SHOW_RPM, units, -1, view->limit_rpm, b),
                  point->restrictor_share >= 1.0 ? "no speed can be named"
                                                 : "beyond what the compressor map can tell");
  else
    ta_buffer_add(out, "%s%s%s: shaft %s, %.1f %% of rated, limit %s", strong,
                  view->shaft_over_limit > 1.0 ? "OVER THE LIMIT" : "Below the limit", plain,
                  ta_show_quantity(TA_SHOW_RPM, units, -1, point->shaft_rpm, a),
                  100.0 * view->shaft_over_rated,
                  ta_show_quantity(TA_SHOW_RPM, units, -1, view->limit_rpm, b));
  ta_buffer_add(out, "\nat %s, %s, MAP %s (boost %s); %s\n\n",
                ta_show_quantity(TA_SHOW_ELEVATION, units, -1, elevation_m, a),
                ta_show_quantity(TA_SHOW_RPM, units, -1, point->engine_rpm, b),
                ta_show_quantity(TA_SHOW_MAP, units, -1, point->map_pa, c),
                ta_show_quantity(TA_SHOW_BOOST, units, -1, view->boost_pa, d),
                ta_say_zone(point, zone));
  group_text("Ambient", ambient, sizeof ambient / sizeof ambient[0], view, units, out);
  group_text("Engine", engine, sizeof engine / sizeof engine[0], view, units, out);
  group_text("Compressor", compressor, sizeof compressor / sizeof compressor[0], view, units, out);
  group_text("Limit", limit, sizeof limit / sizeof limit[0], view, units, out);
  cap_text(view, units, out);
  drive_text(prepared, view, units, out);
  if (prepared->event->car.turbo.count > 1.0)
    ta_buffer_add(out, "%-11s the one of %.0f that carries most\n", "Turbo",
                  prepared->event->car.turbo.count);
  ta_buffer_add(out, "\n");
  ta_warnings_text(warnings, out);
  ta_buffer_add(out, "\n%s", ta_cautions);
}

void ta_report_point(const ta_prepared *prepared, const ta_operating_point *point,
                     double elevation_m, const ta_diagnostics *diagnostics, const ta_style *style,
                     ta_buffer *out) {
  ta_operating_point at_cap;
  const ta_point_view view =
      ta_point_view_of(prepared, point, ta_point_at_cap(prepared, point, &at_cap));
  const ta_unit_system units = style->format == TA_FORMAT_JSON ? TA_METRIC : style->units;
  ta_warnings warnings;
  ta_warnings_collect(prepared, NULL, diagnostics, units, &warnings);
  add_warnings(prepared, &view, elevation_m, units, &warnings);
  if (style->format == TA_FORMAT_TEXT) {
    point_text(prepared, &view, elevation_m, &warnings, style, out);
  } else if (style->format == TA_FORMAT_JSON) {
    ta_json json = {.out = out};
    ta_json_open(&json, NULL, '{');
    ta_json_text(&json, "thinair_version", style->version);
    ta_json_number(&json, "elevation_m", elevation_m);
    ta_point_json(&json, &view);
    ta_warnings_json(&warnings, &json);
    ta_json_close(&json, '}');
  } else {
    ta_column all[40];
    size_t count = 0;
    for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++)
      for (size_t k = 0; k < groups[i].count; k++) {
        all[count] = groups[i].column[k];
        all[count].name = all[count].title; /* names repeat from group to group */
        count++;
      }
    const ta_table table = {all, count, &view, 1, sizeof view};
    ta_table_csv(&table, style->units, out);
  }
}
