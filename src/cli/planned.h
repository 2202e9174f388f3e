/* planned.h - an event as the line names it, read, prepared and planned. */
#ifndef THINAIR_CLI_PLANNED_H
#define THINAIR_CLI_PLANNED_H

#include "command.h"
#include "thinair/plan.h"

typedef struct {
  ta_event event;
  ta_prepared prepared;
  ta_plan plan;
  ta_diagnostics diagnostics;
} planned;

/** @return To be closed; NULL where it is not good: what is wrong is printed. */
planned *planned_open(const command_line *line);
void planned_close(planned *p);

#endif
