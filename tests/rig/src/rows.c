/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One test for each row of the README's table of what the simulator does otherwise: rows ELF, with rows_avr.c's program. */
#include "eeprom.h"
#include "serial.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { GPIOR0 = 0x3e, MOST = 16 };

struct row {
	int number;
	const char *what;
	double reset_ns;	/* 0: none */
	bool again;		/* whether the row runs again after it */
	int bytes;		/* that are sent to it */
	int changes;
	double on_us;		/* of the first pulse of the pin */
	double slack_us;	/* what the program's own loops leave open; half a tick where the compare unit does it all */
};

static const struct row rows[] = {
	{ 1, "a written compare register and an overflow move nothing", 0, false, 0, 2, 1000, 0.25 },
	{ 2, "a write to the port moves nothing", 0, false, 0, 2, 1000, 0.25 },
	{ 3, "disconnected, the pin takes the port's level", 0, false, 0, 2, 500, 10 },
	{ 4, "a forced match acts at once", 0, false, 0, 2, 500, 10 },
	{ 5, "a reset lets the pin float at once", 2e6, false, 0, 2, 2000 - 500.5, 10 },
	{ 6, "an off time two ticks late holds the coil on for a wrap", 0, false, 0, 2, 32768 + 50, 10 },
	{ 7, "a cleared flag leaves the others up", 0, false, 0, 2, 500, 10 },
	{ 8, "of five bytes that nobody reads three are kept", 0, false, 5, 6, 100, 10 },
	{ 9, "the cause of a reset is told: power, then the pin", 2e6, true, 0, 4, 100, 10 },
	{ 10, "the driven pin reads 0 while its unit holds it at 1: not made good", 0, false, 0, 2, 150, 0.25 },
	{ 11, "the EEPROM is busy while a byte is written", 0, false, 0, 2, 3400, 10 },
	{ 12, "half scale of the converter is 511: not made good", 0, false, 0, 2, 100, 10 },
	{ 13, "a program that is silent is reset, and told so", 0, true, 0, 6, 100, 10 },
	{ 14, "the watchdog waits for as long as was said last", 0, true, 0, 2, 100, 10 },
};

struct record {
	struct chip *chip;
	int count;
	double ns[MOST];
};

static void changed(void *context, bool level, avr_cycle_count_t cycle)
{
	struct record *record = context;
	if (record->count < MOST)
		record->ns[record->count] = chip_ns(record->chip, cycle);
	record->count++;
}

static bool passes(const struct row *row, const char *elf)
{
	static struct chip chip;
	static struct serial serial;
	static struct eeprom eeprom;
	struct record record = { .chip = &chip };
	memset(&chip, 0, sizeof chip);
	chip_open(&chip, "the chip", elf, 16e6, changed, &record);
	serial_open(&serial, &chip, 250000);
	eeprom_open(&eeprom, &chip, NULL);
	chip.avr->data[GPIOR0] = (uint8_t)row->number;
	chip_millivolts(&chip, 0, 2500);
	if (write(serial.other_end, "abcdefgh", (size_t)row->bytes) != row->bytes)
		return false;
	bool was_reset = false;
	unsigned long watchdog_resets = 0;
	while (chip_ns(&chip, chip.avr->cycle) < 60e6) {
		if (row->reset_ns > 0 && !was_reset && chip_ns(&chip, chip.avr->cycle) >= row->reset_ns) {
			chip_reset(&chip);
			/* Row 0 is nothing. */
			chip.avr->data[GPIOR0] = (uint8_t)(row->again ? row->number : 0);
			was_reset = true;
		}
		serial_feed(&serial);
		if (!chip_step(&chip, (avr_cycle_count_t)-1))
			return false;
		if (row->again && chip.watchdog_resets != watchdog_resets) {
			chip.avr->data[GPIOR0] = (uint8_t)row->number;
			watchdog_resets = chip.watchdog_resets;
		}
	}
	const double on_us = record.count >= 2 ? (record.ns[1] - record.ns[0]) / 1000 : 0;
	const bool right = record.count == row->changes && fabs(on_us - row->on_us) <= row->slack_us
		&& (int)serial.lost == (row->bytes > 3 ? row->bytes - 3 : 0);
	printf("%s %d: %s: %d changes, first on for %.2f us, %lu bytes lost\n", right ? "ok    " : "FAILED", row->number, row->what,
		record.count, on_us, serial.lost);
	return right;
}

int main(int count, char **argument)
{
	bool all = true;
	if (count != 2) {
		fprintf(stderr, "rows ELF\n");
		return 2;
	}
	for (unsigned i = 0; i < sizeof rows / sizeof *rows; i++)
		all = passes(&rows[i], argument[1]) && all;
	return all ? 0 : 1;
}
