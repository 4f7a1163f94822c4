/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See stimulator.h. */
#include "stimulator.h"
#include "trace.h"

#include <math.h>

enum { TCCR2A = 0xb0, TCCR2B = 0xb1, OCR2A = 0xb3, OCR2B = 0xb4, COM2B1 = 1 << 5, CLOCK_SELECT = 7, BAUD = 250000 };

/* 10 kOhm and 1 uF. */
static const double FILTER_NS = 10e6, SUPPLY_VOLTS = 5;

static void pickup_changed(void *context, bool level, avr_cycle_count_t cycle)
{
	const struct stimulator *stimulator = context;
	stimulator->pickup(stimulator->context, level, chip_ns(&stimulator->chip, cycle));
}

static void throttle(avr_irq_t *irq, uint32_t level, void *param)
{
	const struct stimulator *stimulator = param;
	stimulator->throttle(stimulator->context, !level);
}

static void strobe(avr_irq_t *irq, uint32_t level, void *param)
{
	const struct stimulator *stimulator = param;
	trace(STROBE, level, chip_ns(&stimulator->chip, stimulator->chip.avr->cycle));
}

void stimulator_open(struct stimulator *stimulator, const char *elf, double hz, int line)
{
	chip_open(&stimulator->chip, "the stimulator", elf, hz, pickup_changed, stimulator);
	if (line < 0)
		serial_open(&stimulator->serial, &stimulator->chip, BAUD);
	else
		serial_attach(&stimulator->serial, &stimulator->chip, BAUD, line);
	chip_leave_out(&stimulator->chip, '2');
	chip_watch(&stimulator->chip, 'D', 4, throttle, stimulator);
	chip_watch(&stimulator->chip, 'D', 7, strobe, stimulator);
}

/* What the pulse-width output is on average (data sheet, 8-bit timer/counter 2, fast PWM with OCR2A as top). */
static double average_volts(const uint8_t *registers)
{
	if (!(registers[TCCR2B] & CLOCK_SELECT) || !(registers[TCCR2A] & COM2B1))
		return 0;
	const double high = registers[OCR2B] + 1.0, all = registers[OCR2A] + 1.0;
	return SUPPLY_VOLTS * fmin(high / all, 1);
}

bool stimulator_filter(struct stimulator *stimulator)
{
	const double now = chip_ns(&stimulator->chip, stimulator->chip.avr->cycle);
	const double since = now - stimulator->filtered_ns;
	if (since < 1e6)
		return false;
	const double wanted = average_volts(stimulator->chip.avr->data);
	stimulator->vacuum_volts += (wanted - stimulator->vacuum_volts) * (1 - exp(-since / FILTER_NS));
	stimulator->filtered_ns = now;
	return true;
}
