/* levers.h - what moves the answer: each input that a person can change, by a sensible step. */
#ifndef THINAIR_LEVERS_H
#define THINAIR_LEVERS_H

#include "thinair/caps.h"
#include "thinair/prepare.h"
#include "thinair/quantity.h"
#include "thinair/run.h"

enum { TA_LEVERS_MAX = 32 };

typedef struct {
  const char *name;      /* for machines: "leak" */
  const char *words;     /* for people: "boost leak" */
  ta_kind kind;          /* of from and to */
  double from, to;       /* the step [SI] */
  double shaft_share;    /* change of the shaft speed at the target, relative; INFINITY: past what
                            the compressor map can tell */
  double cap_change;     /* of the set-point [Pa] */
  double power_change_w; /* highest of the boost window, at the cap */
  double time_change_s;  /* of the quickest run within the limit; INFINITY: not known */
  bool misleads;         /* a slower shaft at the price of power or time; or more power though the
                            shaft is faster and the cap lower */
} ta_lever;

/** Ranked: by time where it is known, else by power at the cap.  A lever whose step the event cannot
 *  take, or that moves nothing, is absent. */
typedef struct {
  ta_lever lever[TA_LEVERS_MAX];
  size_t count;
  double distance_m, elevation_m; /* where speed, cap and power are compared: the tightest place */
} ta_levers;

/**
 * @param[in] at    Where speed, cap and power are compared.
 * @param[in] road  Of the course; NULL: no time.
 * Threads   Its levers are solved in parallel; the same bits whatever the number of threads.
 */
ta_status ta_levers_make(const ta_prepared *prepared, const ta_placed_point *at,
                         const ta_road *road, ta_levers *levers);

#endif
