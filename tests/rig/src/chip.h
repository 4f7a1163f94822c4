/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One simulated ATmega328P, or ATmega1284P, with a clock of its own. */
#ifndef RIG_CHIP_H
#define RIG_CHIP_H

#include "coil_pin.h"
#include <avr_ioport.h>
#include <stdbool.h>

enum { CHIP_CHANNELS = 8 };

struct chip {
	const char *name;
	avr_t *avr;
	double ns_per_cycle;
	double begins_ns;	/* when it was switched on */
	struct coil_pin oc1a;
	uint16_t lowest_stack, stack_before[2];
	avr_cycle_count_t slept_at;	/* when it last fell asleep */
	avr_ioport_external_t driven[4];	/* ports A to D */
	uint32_t millivolts[CHIP_CHANNELS];	/* at the converter's inputs */
	bool large;		/* an ATmega1284P */
	void (*run)(avr_t *);	/* the simulator's own; another one there asks for a reset by the watchdog */
	unsigned long watchdog_resets;
	uint8_t watchdog_time;	/* the bits of its register that say how long it waits */
	void *left_out;		/* a timer whose counting is not simulated, or NULL */
	uint8_t flags;		/* of timer 1, before the instruction at hand */
};

/* Loads an ELF; which chip it is for stands in its header. `hz` is the real frequency; the firmware believes in 16 MHz. Ends the program when it cannot. */
void chip_open(struct chip *chip, const char *name, const char *elf, double hz,
	void (*oc1a_changed)(void *, bool, avr_cycle_count_t), void *context);
/* One instruction, or while it sleeps as far as its next event, but not beyond `until` (in cycles). False when it has died. */
bool chip_step(struct chip *chip, avr_cycle_count_t until);
static inline bool chip_runs(const struct chip *chip)
{
	return chip->avr->state == cpu_Running;
}
/* The cycle of the next thing that its timers do by themselves. */
avr_cycle_count_t chip_next_event(const struct chip *chip);
/* Leaves the counting of a timer out: for one whose output is worked out from its registers. At 71 kHz it would take most of the rig's time. */
void chip_leave_out(struct chip *chip, char timer);
/* As the reset pin: outputs float, memory is what noise left in it. */
void chip_reset(struct chip *chip);

static inline double chip_ns(const struct chip *chip, avr_cycle_count_t cycle)
{
	return chip->begins_ns + (double)cycle * chip->ns_per_cycle;
}

void chip_drive(struct chip *chip, char port, int bit, bool level);
/* Drives the capture pin (ICP1) at a moment that may lie a few cycles back, in the instruction that was under way: the time that is captured is that moment's. */
void chip_drive_capture(struct chip *chip, bool level, double ns);
void chip_watch(struct chip *chip, char port, int bit, avr_irq_notify_t changed, void *context);
void chip_millivolts(struct chip *chip, int channel, uint32_t millivolts);

#endif
