/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See coil_pin.h. */
#include "coil_pin.h"

#include <sim_io.h>
#include <string.h>

enum { DDRB = 0x24, PORTB = 0x25, DDRD = 0x2a, PORTD = 0x2b, TCCR1A = 0x80, TCCR1C = 0x82, OCR1AL = 0x88, OCR1AH = 0x89 };
enum { PB1 = 1 << 1, PD5 = 1 << 5, FOC1A = 1 << 7 };

static void settle(struct coil_pin *pin, avr_cycle_count_t cycle)
{
	const bool connected = (pin->tccr1a >> 6) != 0;
	const bool output = pin->direction & pin->bit;
	const bool level = output && (connected ? pin->latch : (pin->port & pin->bit) != 0);
	if (level != pin->level) {
		pin->level = level;
		pin->changed(pin->context, level, cycle);
	}
}

static void match(struct coil_pin *pin, avr_cycle_count_t cycle)
{
	switch (pin->tccr1a >> 6) {
	case 1: pin->latch = !pin->latch; break;
	case 2: pin->latch = false; break;
	case 3: pin->latch = true; break;
	default: return;
	}
	settle(pin, cycle);
}

avr_cycle_count_t coil_pin_next_match(const struct coil_pin *pin, avr_cycle_count_t from)
{
	const avr_timer_t *t = pin->timer;
	if (!t->tov_cycles)
		return (avr_cycle_count_t)-1;
	const uint64_t cycles_per_tick = t->tov_cycles / 65536;
	const uint64_t ticks = (from - t->tov_base) / cycles_per_tick;
	/* The pin moves with the tick after the one in which counter and compare register are equal. */
	const uint64_t ahead = (uint16_t)(pin->compare - ticks);
	return t->tov_base + (ticks + ahead + 1) * cycles_per_tick;
}

static void do_matches(struct coil_pin *pin)
{
	for (;;) {
		const avr_cycle_count_t next = coil_pin_next_match(pin, pin->seen);
		if (next > pin->avr->cycle)
			break;
		match(pin, next);
		pin->seen = next;
	}
	pin->seen = pin->avr->cycle;
}

void coil_pin_follow(struct coil_pin *pin)
{
	const uint8_t *data = pin->avr->data;
	do_matches(pin);
	pin->tccr1a = data[TCCR1A];
	pin->port = data[pin->port_at];
	pin->direction = data[pin->direction_at];
	settle(pin, pin->avr->cycle);
}

static void written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *param)
{
	struct coil_pin *pin = param;
	/* What this instruction writes holds from the next match on. */
	do_matches(pin);
	if (address == OCR1AL)
		pin->compare = value | avr->data[OCR1AH] << 8;
	else if (value & FOC1A)
		match(pin, avr->cycle);
}

void coil_pin_reset(struct coil_pin *pin)
{
	pin->latch = false;
	pin->compare = 0;
	pin->tccr1a = pin->port = pin->direction = 0;
	pin->seen = pin->avr->cycle;
	settle(pin, pin->avr->cycle);
}

static avr_timer_t *timer_1(avr_t *avr)
{
	for (avr_io_t *io = avr->io_port; io; io = io->next)
		if (!strcmp(io->kind, "timer") && ((avr_timer_t *)io)->name == '1')
			return (avr_timer_t *)io;
	return NULL;
}

void coil_pin_open(struct coil_pin *pin, avr_t *avr, bool large, void (*changed)(void *, bool, avr_cycle_count_t), void *context)
{
	/* The simulator lets no more than four registers be watched besides itself; the others are looked at after each step. */
	static const avr_io_addr_t watched[] = { OCR1AL, TCCR1C };
	memset(pin, 0, sizeof *pin);
	pin->avr = avr;
	pin->port_at = large ? PORTD : PORTB;
	pin->direction_at = large ? DDRD : DDRB;
	pin->bit = large ? PD5 : PB1;
	pin->timer = timer_1(avr);
	pin->changed = changed;
	pin->context = context;
	for (unsigned i = 0; i < sizeof watched / sizeof *watched; i++)
		avr_register_io_write(avr, watched[i], written, pin);
	coil_pin_reset(pin);
}
