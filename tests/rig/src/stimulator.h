/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stimulator's chip with what hangs on its pins; pins as in the README of its firmware. */
#ifndef RIG_STIMULATOR_H
#define RIG_STIMULATOR_H

#include "chip.h"
#include "serial.h"

struct stimulator {
	struct chip chip;
	struct serial serial;
	/* Called at each change of the pickup's wire, in the chip's own time; and of the throttle switch. */
	void (*pickup)(void *context, bool level, double ns);
	void (*throttle)(void *context, bool closed);
	void *context;
	double vacuum_volts;	/* behind the RC filter */
	double filtered_ns;	/* when that was last worked out */
};

/* Its serial port is on `line`, or on a pseudo-terminal of its own where that is -1. */
void stimulator_open(struct stimulator *stimulator, const char *elf, double hz, int line);
/* Lets the filter follow the pulse width; true when its voltage was worked out anew, about once a millisecond. */
bool stimulator_filter(struct stimulator *stimulator);

#endif
