/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See ignition.h. */
#include "ignition.h"
#include "trace.h"

#include <math.h>

enum { MANIFOLD = 0, BATTERY = 1, BAUD = 38400 };

static void coil_changed(void *context, bool level, avr_cycle_count_t cycle)
{
	struct ignition *ignition = context;
	const double ns = chip_ns(&ignition->chip, cycle);
	trace(COIL, level, ns);
	ignition->coil(ignition->context, level, ns);
}

static void tachometer(avr_irq_t *irq, uint32_t value, void *param)
{
	const struct ignition *ignition = param;
	trace(TACHOMETER, value, chip_ns(&ignition->chip, ignition->chip.avr->cycle));
}

static void lamp(avr_irq_t *irq, uint32_t value, void *param)
{
	const struct ignition *ignition = param;
	trace(LAMP, value, chip_ns(&ignition->chip, ignition->chip.avr->cycle));
}

void ignition_open(struct ignition *ignition, const char *elf, double hz, void (*coil)(void *, bool, double), void *context)
{
	ignition->coil = coil;
	ignition->context = context;
	chip_open(&ignition->chip, "the ignition", elf, hz, coil_changed, ignition);
	serial_open(&ignition->serial, &ignition->chip, BAUD);
	chip_watch(&ignition->chip, 'D', ignition->chip.large ? 2 : 6, tachometer, ignition);
	chip_watch(&ignition->chip, 'B', 5, lamp, ignition);
	ignition_throttle(ignition, true);
	ignition_hold(ignition, false);
	ignition_manifold(ignition, 4.111);
	ignition_battery(ignition, 13.8);
	trace(IGNITION_RUNS, true, 0);
}

void ignition_pickup(struct ignition *ignition, bool level)
{
	chip_drive(&ignition->chip, ignition->chip.large ? 'D' : 'B', ignition->chip.large ? 6 : 0, level);
}

void ignition_throttle(struct ignition *ignition, bool closed)
{
	trace(THROTTLE_CLOSED, closed, chip_ns(&ignition->chip, ignition->chip.avr->cycle));
	chip_drive(&ignition->chip, 'D', 4, !closed);
}

void ignition_hold(struct ignition *ignition, bool jumper)
{
	chip_drive(&ignition->chip, 'D', ignition->chip.large ? 3 : 5, !jumper);
}

void ignition_manifold(struct ignition *ignition, double volts)
{
	chip_millivolts(&ignition->chip, MANIFOLD, (uint32_t)lround(volts * 1000));
}

void ignition_battery(struct ignition *ignition, double volts)
{
	/* Through 30 kOhm above 10 kOhm. */
	chip_millivolts(&ignition->chip, BATTERY, (uint32_t)lround(volts * 250));
}
