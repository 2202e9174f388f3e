/* bench_points.c - how many operating points a second one core solves.
 *
 * usage: bench_points EVENT FOLDER
 *
 * Draws points around the event, solves and times them, and prints one JSON object: the figures,
 * and all that a peer needs to solve the same points over the same surface.  Into FOLDER, as
 * doubles: points.f64 (ambient pressure, ambient temperature, gas constant, engine speed, MAP; one
 * row each), shaft.f64 (the answers) and surface.f64 (the arrays of the compressor surface, in
 * their order).
 *
 * A run is what a caller waits for: five input arrays to shaft speeds, copies in and out of the
 * blocks included.
 */
#define _POSIX_C_SOURCE 199309L /* clock_gettime */
#include <gsl/gsl_errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "thinair/event_reader.h"
#include "thinair/prepare.h"
/* The file itself: how often its passes do not meet shows nowhere outside. */
#include "model/operating_point.c" /* NOLINT(bugprone-suspicious-include) */

#if !defined(__OPTIMIZE__) || defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#error "a debug or sanitized build is not worth timing"
#endif

enum { POINTS = 1024 * TA_LANES, RUNS = 60, INPUTS = 5 };

typedef struct {
  double ambient_pa[POINTS], ambient_k[POINTS], gas_constant[POINTS], engine_rpm[POINTS],
      map_pa[POINTS]; /* in the order of points.f64 */
} inputs;

typedef struct {
  size_t bracketed, in_zone[TA_ZONE_COUNT];
  double worst_residual;
} tally;

/* Counter-based, evenly spread: the mixer of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
static double spread(uint64_t *next, double low, double high) {
  uint64_t z = ++*next * UINT64_C(0x9E3779B97F4A7C15);
  z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
  z ^= z >> 31;
  return low + (high - low) * ((double)(z >> 11) * 0x1.0p-53);
}

/* The day's air somewhere between start and finish, colder or warmer, under a low or a high; any
 * engine speed of the boost window; MAP from well below the goal to above it. */
static ta_status draw(const ta_prepared *prepared, inputs *in) {
  const ta_course *course = &prepared->event->course;
  const double *window = prepared->event->car.engine.window_rpm;
  const double foot = course->point[0].elevation_m,
               top = course->point[course->count - 1].elevation_m;
  uint64_t next = 0;
  for (size_t i = 0; i < POINTS; i++) {
    ta_air air;
    const ta_status status = ta_day_air(&prepared->day, spread(&next, foot, top), &air);
    if (status != TA_OK) return status;
    in->ambient_pa[i] = air.pressure_pa * spread(&next, 0.98, 1.02);
    in->ambient_k[i] = air.temperature_k + spread(&next, -15.0, 15.0);
    in->gas_constant[i] = air.gas_constant_jkgk;
    in->engine_rpm[i] = spread(&next, window[0], window[1]);
    in->map_pa[i] = ta_prepared_goal(prepared, in->engine_rpm[i]) * spread(&next, 0.75, 1.05);
  }
  return TA_OK;
}

static void fill(const inputs *in, size_t first, ta_point_block *block) {
  const size_t bytes = TA_LANES * sizeof(double);
  block->count = TA_LANES;
  memcpy(block->ambient_pressure_pa, in->ambient_pa + first, bytes);
  memcpy(block->ambient_temperature_k, in->ambient_k + first, bytes);
  memcpy(block->gas_constant_jkgk, in->gas_constant + first, bytes);
  memcpy(block->engine_rpm, in->engine_rpm + first, bytes);
  memcpy(block->map_pa, in->map_pa + first, bytes);
  memset(block->ram_pa, 0, bytes);
}

static void solve_all(const ta_car *car, const ta_compressor_map *map, const inputs *in,
                      double *shaft_rpm) {
  ta_point_block block;
  for (size_t first = 0; first < POINTS; first += TA_LANES) {
    fill(in, first, &block);
    ta_points_solve(car, map, &block);
    memcpy(shaft_rpm + first, block.shaft_rpm, sizeof block.shaft_rpm);
  }
}

/* Lanes of a block that the passes leave to the bracketed solve. */
static size_t left_by_the_passes(const ta_car *car, const ta_compressor_map *map,
                                 ta_point_block *block) {
  const air_path path = path_of(car);
  const ta_surface_view view = ta_surface_view_of(map);
  lanes_given given;
  double speed_ve[TA_LANES], outlet_k[TA_LANES], ratio[TA_LANES];
  for (size_t i = 0; i < block->count; i++)
    speed_ve[i] = block->engine_rpm[i] * ta_engine_ve(&car->engine, block->engine_rpm[i]);
  (path.throat_area_m2 > 0.0 ? solve_restricted : solve_free)(&path, &view, speed_ve, block, &given,
                                                              outlet_k, ratio);
  size_t left = 0;
  for (size_t i = 0; i < block->count; i++)
    if (!(block->residual[i] <= MEET)) left++;
  return left;
}

static tally count_all(const ta_car *car, const ta_compressor_map *map, const inputs *in) {
  tally t = {0};
  ta_point_block block;
  for (size_t first = 0; first < POINTS; first += TA_LANES) {
    fill(in, first, &block);
    t.bracketed += left_by_the_passes(car, map, &block);
    ta_points_solve(car, map, &block);
    for (size_t i = 0; i < TA_LANES; i++) {
      t.in_zone[block.zone[i]]++;
      if (!(block.residual[i] <= t.worst_residual)) t.worst_residual = block.residual[i];
    }
  }
  return t;
}

static double now_s(void) {
  struct timespec t;
  (void)clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* ---- what the peers read --------------------------------------------------------------------- */

static bool write_doubles(const char *folder, const char *name, const double *const *array,
                          const size_t *count, size_t arrays) {
  char path[4096];
  (void)snprintf(path, sizeof path, "%s/%s", folder, name);
  FILE *file = fopen(path, "wb");
  if (file == NULL) return false;
  bool written = true;
  for (size_t i = 0; i < arrays; i++)
    written = fwrite(array[i], sizeof(double), count[i], file) == count[i] && written;
  return fclose(file) == 0 && written;
}

static bool write_files(const char *folder, const inputs *in, const double *shaft_rpm,
                        const struct ta_compressor_map *m) {
  const double *const points[INPUTS] = {in->ambient_pa, in->ambient_k, in->gas_constant,
                                        in->engine_rpm, in->map_pa};
  const size_t each[INPUTS] = {POINTS, POINTS, POINTS, POINTS, POINTS};
  const double *const surface[] = {m->surge_v,       m->per_span_v, m->surge_w_per_y,
                                   m->choke_y_per_w, m->rpm_per_q,  m->efficiency};
  const size_t edge = TA_SURFACE_Q + 2, whole = (TA_SURFACE_TAU + 2) * edge;
  const size_t sizes[] = {edge, edge, edge, edge, whole, whole};
  return write_doubles(folder, "points.f64", points, each, INPUTS) &&
         write_doubles(folder, "shaft.f64", &shaft_rpm, each, 1) &&
         write_doubles(folder, "surface.f64", surface, sizes, sizeof sizes / sizeof sizes[0]);
}

static void print_drop(const char *name, const ta_flow_drop *drop) {
  (void)printf("\"%s_drop\": [%.17g, %.17g, %.17g, %.17g],\n", name, drop->drop_pa,
               drop->at_flow_kg_s, drop->pressure_pa, drop->temperature_k);
}

static void print_car(const ta_car *car) {
  const ta_engine *engine = &car->engine;
  const ta_charge_cooler *cooler = &car->charge_cooler;
  const ta_turbo *turbo = &car->turbo;
  (void)printf("\"car\": {\n\"displacement_m3\": %.17g,\n\"revs_per_intake\": %.17g,\n\"ve\": [",
               engine->displacement_m3, ta_engine_revs_per_intake(engine));
  for (size_t i = 0; i < engine->ve_count; i++)
    (void)printf("%s[%.17g, %.17g]", i > 0 ? ", " : "", engine->ve[i].engine_rpm, engine->ve[i].ve);
  (void)printf("],\n");
  print_drop("intake", &car->intake.drop);
  print_drop("charge", &cooler->drop);
  (void)printf("\"temperature_rise_k\": %.17g,\n\"effectiveness\": %.17g,\n\"leak\": %.17g,\n",
               car->intake.temperature_rise_k, cooler->effectiveness, cooler->leak);
  if (cooler->has_coolant)
    (void)printf("\"coolant_k\": %.17g,\n", cooler->coolant_k);
  else
    (void)printf("\"coolant_k\": null,\n");
  (void)printf("\"turbo_share\": %.17g,\n\"reference_pa\": %.17g,\n\"reference_k\": %.17g,\n",
               ta_turbo_share(turbo), turbo->compressor.reference.pressure_pa,
               turbo->compressor.reference.temperature_k);
  (void)printf("\"reynolds_exponent\": %.17g,\n\"pressure_exponent\": %.17g},\n",
               turbo->thin_air.off ? 0.0 : turbo->thin_air.reynolds_exponent,
               turbo->thin_air.off ? 0.0 : turbo->thin_air.pressure_exponent);
}

static const char *instructions(void) {
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
  if (__builtin_cpu_supports("avx2")) return "the AVX2 clone";
#endif
  return "the default clone";
}

static void print_figures(const tally *t, const double *seconds, const ta_compressor_map *map) {
  (void)printf(
      "\"surface\": {\"tau\": %d, \"q\": %d, \"per_flow\": %.17g, \"cells_per_q\": %.17g, "
      "\"top_rpm\": %.17g},\n",
      TA_SURFACE_TAU, TA_SURFACE_Q, map->per_flow, map->cells_per_q, map->top_rpm);
  (void)printf("\"zones\": {");
  for (int zone = 0; zone < TA_ZONE_COUNT; zone++)
    (void)printf("%s\"%s\": %zu", zone > 0 ? ", " : "", ta_zone_name((ta_zone)zone),
                 t->in_zone[zone]);
  (void)printf("},\n\"points\": %d,\n\"bracketed\": %zu,\n\"passes\": %d,\n", POINTS, t->bracketed,
               PASSES);
  (void)printf("\"worst_residual\": %.3g,\n\"instructions\": \"%s\",\n", t->worst_residual,
               instructions());
  (void)printf("\"runs\": %d,\n\"minimum_s\": %.17g,\n\"median_s\": %.17g\n}\n", RUNS, seconds[0],
               seconds[RUNS / 2]);
}

int main(int count, char **argument) {
  if (count != 3) {
    (void)fprintf(stderr, "usage: bench_points EVENT FOLDER\n");
    return 2;
  }
  (void)gsl_set_error_handler_off();
  static ta_diagnostics diagnostics;
  ta_event event;
  ta_prepared prepared;
  inputs *in = malloc(sizeof *in);
  double *shaft_rpm = malloc(POINTS * sizeof *shaft_rpm);
  if (in == NULL || shaft_rpm == NULL ||
      ta_event_read(argument[1], NULL, 0, &event, &diagnostics) != TA_OK ||
      ta_prepare(&event, &prepared) != TA_OK || draw(&prepared, in) != TA_OK) {
    (void)fprintf(stderr, "bench_points: %s cannot be read or prepared\n", argument[1]);
    return 1;
  }
  const tally t = count_all(&event.car, prepared.map, in);
  double seconds[RUNS];
  for (size_t run = 0; run < RUNS; run++) {
    const double from = now_s();
    solve_all(&event.car, prepared.map, in, shaft_rpm);
    seconds[run] = now_s() - from;
  }
  qsort(seconds, RUNS, sizeof seconds[0], by_size);
  if (!write_files(argument[2], in, shaft_rpm, prepared.map)) {
    (void)fprintf(stderr, "bench_points: cannot write into %s\n", argument[2]);
    return 1;
  }
  (void)printf("{\n");
  print_car(&event.car);
  print_figures(&t, seconds, prepared.map);
  ta_prepared_free(&prepared);
  ta_event_free(&event);
  free(shaft_rpm);
  free(in);
  return 0;
}
