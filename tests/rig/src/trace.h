/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes the pins as a value change dump (IEEE 1364), in nanoseconds. */
#ifndef RIG_TRACE_H
#define RIG_TRACE_H

#include <stdbool.h>

enum signal { PICKUP, COIL, STROBE, THROTTLE_CLOSED, TACHOMETER, LAMP, IGNITION_RUNS, SIGNALS };

/* Without a path nothing is written. Ends the program where the file cannot be. */
void trace_open(const char *path);
void trace(enum signal signal, bool level, double ns);
void trace_close(double ns);

#endif
