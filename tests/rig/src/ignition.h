/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ignition's chip with what hangs on its pins; pins as in the ignition's README. */
#ifndef RIG_IGNITION_H
#define RIG_IGNITION_H

#include "chip.h"
#include "serial.h"

struct ignition {
	struct chip chip;
	struct serial serial;
	/* Called at each change of the coil's pin; `ns` is the chip's own time. */
	void (*coil)(void *context, bool on, double ns);
	void *context;
};

void ignition_open(struct ignition *ignition, const char *elf, double hz, void (*coil)(void *, bool, double), void *context);
void ignition_pickup(struct ignition *ignition, bool level);
void ignition_throttle(struct ignition *ignition, bool closed);
void ignition_hold(struct ignition *ignition, bool jumper);
void ignition_manifold(struct ignition *ignition, double volts);
void ignition_battery(struct ignition *ignition, double volts);

#endif
