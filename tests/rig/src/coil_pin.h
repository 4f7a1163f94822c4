/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The level of OC1A, worked out by the data sheet's rules from the registers that drive it.
 *
 * The simulator's own level of this pin is wrong in ways that matter to a coil: it jumps when the compare register is written and
 * at every overflow, drops at a write to the port, and knows no forced match. Source: data sheet "ATmega328P", 16-bit
 * timer/counter 1, "Compare Match Output Unit", "Force Output Compare" and the timing diagrams; I/O ports. */
#ifndef RIG_COIL_PIN_H
#define RIG_COIL_PIN_H

#include <sim_avr.h>
#include <avr_timer.h>
#include <stdbool.h>

struct coil_pin {
	avr_t *avr;
	avr_timer_t *timer;
	bool latch;		/* the compare unit's own output */
	bool level;		/* of the pin; one that floats is pulled down */
	uint16_t compare;	/* OCR1A once its low byte is written */
	avr_io_addr_t port_at, direction_at;
	uint8_t bit;
	uint8_t tccr1a, port, direction;
	avr_cycle_count_t seen;	/* matches up to here have been done */
	void (*changed)(void *context, bool level, avr_cycle_count_t cycle);
	void *context;
};

/* On PB1 of an ATmega328P, or PD5 of the larger ATmega1284P. */
void coil_pin_open(struct coil_pin *pin, avr_t *avr, bool large, void (*changed)(void *, bool, avr_cycle_count_t), void *context);
/* To be called after every step of the chip: does the matches that lie in it. */
void coil_pin_follow(struct coil_pin *pin);
/* Everything floats, and the compare unit's output is low. */
void coil_pin_reset(struct coil_pin *pin);
/* The cycle of the next match after `from`; far away while the timer stands. */
avr_cycle_count_t coil_pin_next_match(const struct coil_pin *pin, avr_cycle_count_t from);

#endif
