/* event_reader.h - from the user's files to the event. */
#ifndef THINAIR_EVENT_READER_H
#define THINAIR_EVENT_READER_H

#include <stddef.h>

#include "thinair/diagnostics.h"
#include "thinair/event.h"
#include "thinair/status.h"

/** A value given beside the files: replaces or inserts the scalar of that key. */
typedef struct {
  const char *option; /* as the user wrote it, for messages: "--set" */
  const char *key; /* "car.intake.pressure_drop", "day.stations[0].temperature"; [lowest] stands for
                      the number of the lowest station */
  const char *value;
  const char *instead_of; /* names in the key's group that this one displaces, "a|b"; or NULL */
} ta_setting;

/**
 * Read an event and all the files that it names, and check it.
 *
 * @param[in]  path         The event file, or a folder that holds event.yaml.
 * @param[in]  settings     Applied to the parsed files before anything is read from them.
 * @param[out] event        To be freed with ta_event_free.  Zeroed on failure.
 * @param[out] diagnostics  Every error and warning of every file, located.
 * @retval TA_ERR_INPUT  The list holds at least one error.
 */
ta_status ta_event_read(const char *path, const ta_setting *settings, size_t setting_count,
                        ta_event *event, ta_diagnostics *diagnostics);

/** The same for one that must give a key that may else be left out ("car.turbo.sensor"): where it
 *  does not, that is an error, placed at the mapping that lacks it. */
ta_status ta_event_read_needing(const char *path, const ta_setting *settings, size_t setting_count,
                                const char *needed, ta_event *event, ta_diagnostics *diagnostics);

/** The same from bytes; files named inside are looked for beside `path`. */
ta_status ta_event_read_bytes(const char *path, const char *bytes, size_t size,
                              const ta_setting *settings, size_t setting_count, ta_event *event,
                              ta_diagnostics *diagnostics);

/** Read one file that holds one part of an event, such as "car.turbo.compressor"; the rest of
 *  *event stays zero.  Keys in diagnostics are whole: "car.turbo.compressor.lines[0].speed". */
ta_status ta_event_read_part(const char *part, const char *path, const ta_setting *settings,
                             size_t setting_count, ta_event *event, ta_diagnostics *diagnostics);

/** The same from bytes; the ending of `path` says whether they are YAML, CSV or GPX. */
ta_status ta_event_read_part_bytes(const char *part, const char *path, const char *bytes,
                                   size_t size, ta_event *event, ta_diagnostics *diagnostics);

#endif
