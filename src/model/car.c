/* car.c - what follows from the car's data alone. */
#include "thinair/car.h"

double ta_engine_ve(const ta_engine *engine, double engine_rpm) {
  const ta_ve_point *point = engine->ve;
  const size_t last = engine->ve_count - 1;
  if (!(engine_rpm > point[0].engine_rpm)) return point[0].ve;
  if (!(engine_rpm < point[last].engine_rpm)) return point[last].ve;
  size_t i = 1;
  while (point[i].engine_rpm < engine_rpm) i++;
  const double share =
      (engine_rpm - point[i - 1].engine_rpm) / (point[i].engine_rpm - point[i - 1].engine_rpm);
  return point[i - 1].ve + share * (point[i].ve - point[i - 1].ve);
}

double ta_engine_revs_per_intake(const ta_engine *engine) {
  return engine->cycle == TA_FOUR_STROKE ? 2.0 : 1.0;
}

double ta_turbo_share(const ta_turbo *turbo) {
  return turbo->count > 1.0 ? (1.0 + turbo->imbalance) / turbo->count : 1.0;
}
