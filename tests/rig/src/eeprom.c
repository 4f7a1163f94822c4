/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See eeprom.h. Busy: data sheet, "EEPROM read/write access", 3.4 ms from the processor's write; the simulator is ready at once. */
#include "eeprom.h"

#include <avr_eeprom.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EECR = 0x3f, EEARL = 0x41, EEARH = 0x42, EEPE = 1 << 1, BYTES = 1024, BUSY_US = 3400 };

static avr_cycle_count_t ready(avr_t *avr, avr_cycle_count_t when, void *param)
{
	avr->data[EECR] &= (uint8_t)~EEPE;
	return 0;
}

static void written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *param)
{
	struct eeprom *eeprom = param;
	if (!(value & EEPE))
		return;
	avr->data[EECR] |= EEPE;
	avr_cycle_timer_register_usec(avr, BUSY_US, ready, eeprom);
	if (++eeprom->written != eeprom->cut_at)
		return;
	uint8_t spoilt = (uint8_t)rand();
	avr_eeprom_desc_t byte = { .ee = &spoilt, .offset = (uint16_t)(avr->data[EEARL] | avr->data[EEARH] << 8), .size = 1 };
	if (!eeprom->whole)
		avr_ioctl(avr, AVR_IOCTL_EEPROM_SET, &byte);
	eeprom_keep(eeprom);
	fprintf(stderr, "power cut in the write of byte %u\n", byte.offset);
	exit(0);
}

void eeprom_open(struct eeprom *eeprom, struct chip *chip, const char *file)
{
	uint8_t bytes[BYTES];
	*eeprom = (struct eeprom){ .chip = chip, .file = file };
	for (unsigned i = 0; i < BYTES; i++)
		bytes[i] = 0xff;
	FILE *from = file ? fopen(file, "rb") : NULL;
	if (from) {
		if (fread(bytes, 1, BYTES, from) != BYTES) {
			fprintf(stderr, "%s: not %d bytes\n", file, BYTES);
			exit(2);
		}
		fclose(from);
	}
	avr_eeprom_desc_t all = { .ee = bytes, .offset = 0, .size = BYTES };
	avr_ioctl(chip->avr, AVR_IOCTL_EEPROM_SET, &all);
	avr_register_io_write(chip->avr, EECR, written, eeprom);
}

void eeprom_cut(struct eeprom *eeprom, unsigned long at, bool whole)
{
	eeprom->cut_at = at;
	eeprom->whole = whole;
	/* Another byte at every place, and the same ones at every run. */
	srand((unsigned)at);
}

void eeprom_keep(struct eeprom *eeprom)
{
	uint8_t bytes[BYTES];
	avr_eeprom_desc_t all = { .ee = bytes, .offset = 0, .size = BYTES };
	if (!eeprom->file)
		return;
	avr_ioctl(eeprom->chip->avr, AVR_IOCTL_EEPROM_GET, &all);
	FILE *to = fopen(eeprom->file, "wb");
	if (!to || fwrite(bytes, 1, BYTES, to) != BYTES || fclose(to)) {
		perror(eeprom->file);
		exit(4);
	}
}
