/* pictures.h - a plan as pictures: SVG, in the user's units. */
#ifndef THINAIR_REPORT_PICTURES_H
#define THINAIR_REPORT_PICTURES_H

#include <stdbool.h>

#include "thinair/buffer.h"
#include "thinair/plan.h"
#include "thinair/prepare.h"

/* One row per picture: symbol, name on the command line, title, one line on how to read it. */
#define TA_PICTURE_ROWS(X)                                                                         \
  X(TA_PICTURE_COURSE, "course", "Along the course",                                               \
    "The ground below, the shaft above it; where its line stands above the limit the wheel is in " \
    "danger.")                                                                                     \
  X(TA_PICTURE_COMPRESSOR, "compressor", "On the compressor map",                                  \
    "Each dot is the worst moment at one elevation, each square the same engine speed under the "  \
    "cap; past the last line it is an estimate.")                                                  \
  X(TA_PICTURE_CAP, "cap", "The cap over ambient pressure",                                        \
    "Read the barometer below, take the boost on the line of the engine speed.")                   \
  X(TA_PICTURE_TABLE, "table", "The controller table",                                             \
    "What goes into the controller; darker is less boost.")                                        \
  X(TA_PICTURE_LEVERS, "levers", "What moves it",                                                  \
    "Each bar is one change to the car or the day; to the right it helps.")                        \
  X(TA_PICTURE_TIME, "time", "What each way to run costs",                                         \
    "Seconds lost against the full target; a way marked forbidden passes the limit.")

typedef enum {
#define X(symbol, name, title, reading) symbol,
  TA_PICTURE_ROWS(X)
#undef X
      TA_PICTURE_COUNT
} ta_picture;

const char *ta_picture_name(ta_picture picture);
const char *ta_picture_title(ta_picture picture);
const char *ta_picture_reading(ta_picture picture);

typedef struct {
  double width, height, text; /* of the drawing, and its text [px] */
  const char *id;             /* begins every id, so that several stand in one page */
  bool with_style;            /* a file of its own; else the page has the style */
  ta_unit_system units;
} ta_picture_frame;

/** The picture of that name.  @return false when there is none. */
bool ta_picture_find(const char *name, ta_picture *picture);

/** As large as a page or a file of its own has it: wide, or for a phone.  Its id and style are not set. */
ta_picture_frame ta_picture_frame_of(ta_picture picture, bool is_narrow, ta_unit_system units);

/** Draw a picture.  @return false where the plan has nothing to draw it of: out is untouched. */
bool ta_picture_draw(ta_picture picture, const ta_prepared *prepared, const ta_plan *plan,
                     const ta_picture_frame *frame, ta_buffer *out);

/** A compressor map alone, with the points as typed, to lay beside the print. */
void ta_picture_map_draw(const ta_compressor *compressor, const ta_compressor_map *map,
                         const ta_picture_frame *frame, ta_buffer *out);

#endif
