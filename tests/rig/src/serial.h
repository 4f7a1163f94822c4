/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chip's serial port on a pseudo-terminal of the rig's own. */
#ifndef RIG_SERIAL_H
#define RIG_SERIAL_H

#include "chip.h"
#include <avr_uart.h>
#include <stdio.h>

struct serial {
	struct chip *chip;
	avr_uart_t *uart;
	int terminal, other_end;
	char path[64];
	avr_cycle_count_t cycles_per_byte;	/* a frame of ten bits */
	avr_cycle_count_t next_byte;		/* when the next one can be complete */
	avr_cycle_count_t heard_at;		/* when the last one came */
	int shifted;				/* a byte in the shift register, or -1 */
	unsigned unread;
	unsigned long lost;			/* bytes that overran */
	avr_cycle_count_t deaf_cycles;		/* a board that the first byte resets, and how long it then hears nothing */
	avr_cycle_count_t deaf_until;
	FILE *copy;				/* where all goes that the chip sends, or NULL */
};

/* On a line that is open already, and does not block. */
void serial_attach(struct serial *serial, struct chip *chip, unsigned baud, int line);
/* On a pseudo-terminal. */
void serial_open(struct serial *serial, struct chip *chip, unsigned baud);
/* To be called often: gives the chip what has come, at the pace of the line. */
void serial_feed(struct serial *serial);

#endif
