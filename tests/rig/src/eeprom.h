/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ignition's EEPROM: kept in a file over key-off, busy for as long as a real one, and spoilt where power goes in a byte. */
#ifndef RIG_EEPROM_H
#define RIG_EEPROM_H

#include "chip.h"

struct eeprom {
	struct chip *chip;
	const char *file;
	unsigned long written, cut_at;
	bool whole;
};

/* Takes what the file holds; without a file the chip is as from its maker. */
void eeprom_open(struct eeprom *eeprom, struct chip *chip, const char *file);
/* At the write of byte `at`, from 1, power goes: that byte becomes a random one, or is whole; the file is written and the program ends. */
void eeprom_cut(struct eeprom *eeprom, unsigned long at, bool whole);
/* Writes the file. */
void eeprom_keep(struct eeprom *eeprom);

#endif
