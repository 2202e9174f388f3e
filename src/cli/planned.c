/* planned.c - an event as the line names it, read, prepared and planned. */
#include "planned.h"

#include <stdio.h>
#include <stdlib.h>

planned *planned_open(const command_line *line) {
  planned *p = calloc(1, sizeof *p);
  if (p == NULL) {
    (void)fprintf(stderr, "thinair: %s\n", ta_status_text(TA_ERR_MEMORY));
    return NULL;
  }
  if (!event_open(line, &p->event, &p->diagnostics, &p->prepared)) {
    free(p);
    return NULL;
  }
  const ta_status status = ta_plan_make(&p->prepared, &p->plan);
  if (status == TA_OK) return p;
  (void)fprintf(stderr, "thinair: %s\n", ta_status_text(status));
  ta_prepared_free(&p->prepared);
  ta_event_free(&p->event);
  free(p);
  return NULL;
}

void planned_close(planned *p) {
  if (p == NULL) return;
  ta_plan_free(&p->plan);
  ta_prepared_free(&p->prepared);
  ta_event_free(&p->event);
  free(p);
}
