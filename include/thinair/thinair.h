/* thinair.h - the whole library. */
#ifndef THINAIR_THINAIR_H
#define THINAIR_THINAIR_H

#include "thinair/air.h"
#include "thinair/buffer.h"
#include "thinair/caps.h"
#include "thinair/car.h"
#include "thinair/compressor_map.h"
#include "thinair/course.h"
#include "thinair/course_shape.h"
#include "thinair/course_smoothing.h"
#include "thinair/day.h"
#include "thinair/diagnostics.h"
#include "thinair/event.h"
#include "thinair/event_reader.h"
#include "thinair/geodesic.h"
#include "thinair/moist_air.h"
#include "thinair/operating_point.h"
#include "thinair/over.h"
#include "thinair/plan.h"
#include "thinair/prepare.h"
#include "thinair/printed_map.h"
#include "thinair/quantity.h"
#include "thinair/report.h"
#include "thinair/schema.h"
#include "thinair/status.h"

#endif
