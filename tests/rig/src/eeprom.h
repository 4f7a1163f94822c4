/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ignition's EEPROM: kept in a file over key-off, busy for as long as a real one, and spoilt where power goes in a byte. */
#ifndef RIG_EEPROM_H
#define RIG_EEPROM_H

#include "chip.h"

struct eeprom {
	struct chip *chip;
	const char *file;
	unsigned long written, cut_at;
};

/* Takes what the file holds; without a file the chip is as from its maker. At the write of byte `cut_at` (from 1; 0 is never) power goes: that byte
 * becomes a random one, the file is written and the program ends. */
void eeprom_open(struct eeprom *eeprom, struct chip *chip, const char *file, unsigned long cut_at);
void eeprom_keep(struct eeprom *eeprom);

#endif
