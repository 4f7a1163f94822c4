/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ignition's chip alone, with edges made here: a steady crank, and each spark's advance.
 *
 *   alone ELF CRANK_RPM PULSES_IN_TWO_TURNS FLANK SECOND_FLANK SECONDS [key=value ...]
 *
 * Angles are crank degrees before top dead centre; the pickup's wire falls at the first flank and rises at the second, or half a pulse later
 * where the second is `none`. Keys: manifold (volts), battery (volts), hold=1, vcd=FILE, eeprom=FILE (what the chip finds there). Prints one line a
 * spark: seconds, advance, dwell in ms; on stderr the deepest stack, and how long the chip takes for an edge. */
#include "eeprom.h"
#include "ignition.h"
#include "trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static double flank, pulse_ns, pulse_degrees, first_ns, on_ns;
/* The last edge, if it was a first flank that no order has followed yet; the last second flank; and how long orders and dwells take. */
static double first_flank_ns, second_ns, ordered_at_worst_ns, begun_at_worst_ns;

enum { OCR1AL = 0x88, NO_ORDER_TAKES_NS = 1000000 };

static void compare_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *param)
{
	const struct chip *chip = param;
	const double took_ns = chip_ns(chip, avr->cycle) - first_flank_ns;
	if (first_flank_ns > 0 && took_ns < NO_ORDER_TAKES_NS)
		ordered_at_worst_ns = fmax(ordered_at_worst_ns, took_ns);
	first_flank_ns = 0;
}

static void coil(void *context, bool on, double ns)
{
	if (on) {
		on_ns = ns;
		if (ns - second_ns < NO_ORDER_TAKES_NS)
			begun_at_worst_ns = fmax(begun_at_worst_ns, ns - second_ns);
		return;
	}
	/* The top dead centre of the pulse: as far after its flank as the flank lies before it. */
	const double degrees = (ns - first_ns) / pulse_ns * pulse_degrees;
	double advance = fmod(flank - degrees, pulse_degrees);
	while (advance < flank - pulse_degrees)
		advance += pulse_degrees;
	printf("%.9f %.4f %.4f\n", ns / 1e9, advance, (ns - on_ns) / 1e6);
}

int main(int count, char **argument)
{
	struct ignition ignition;
	struct eeprom eeprom;
	const char *vcd = NULL, *stored = NULL;
	double manifold = 4.111, battery = 13.8;
	bool hold = false;
	if (count < 7) {
		fprintf(stderr, "alone ELF CRANK_RPM PULSES_IN_TWO_TURNS FLANK SECOND_FLANK SECONDS [key=value ...]\n");
		return 2;
	}
	const double crank_rpm = atof(argument[2]);
	const double pulses = atof(argument[3]);
	flank = atof(argument[4]);
	pulse_degrees = 720 / pulses;
	pulse_ns = 120e9 / (pulses * crank_rpm);
	const double width = strcmp(argument[5], "none") ? (flank - atof(argument[5])) / pulse_degrees : 0.5;
	const double end_ns = atof(argument[6]) * 1e9;
	for (int i = 7; i < count; i++) {
		if (!strncmp(argument[i], "manifold=", 9)) manifold = atof(argument[i] + 9);
		else if (!strncmp(argument[i], "battery=", 8)) battery = atof(argument[i] + 8);
		else if (!strncmp(argument[i], "hold=", 5)) hold = atoi(argument[i] + 5);
		else if (!strncmp(argument[i], "vcd=", 4)) vcd = argument[i] + 4;
		else if (!strncmp(argument[i], "eeprom=", 7)) stored = argument[i] + 7;
		else { fprintf(stderr, "unknown: %s\n", argument[i]); return 2; }
	}
	trace_open(vcd);
	ignition_open(&ignition, argument[1], 16e6, coil, NULL);
	eeprom_open(&eeprom, &ignition.chip, stored);
	ignition_manifold(&ignition, manifold);
	ignition_battery(&ignition, battery);
	ignition_hold(&ignition, hold);
	ignition_pickup(&ignition, true);
	/* Time enough to read the atmosphere at key-on. */
	first_ns = 300e6;
	double next_ns = first_ns;
	unsigned long edges = 0;
	struct chip *chip = &ignition.chip;
	avr_register_io_write(chip->avr, OCR1AL, compare_written, chip);
	/* From an edge until the chip sleeps again: it has been answered by then. */
	double answered_at_worst_ns = 0, edge_ns = 0;
	while (chip_ns(chip, chip->avr->cycle) < end_ns) {
		const avr_cycle_count_t next = (avr_cycle_count_t)llround(next_ns / chip->ns_per_cycle);
		if (chip->avr->cycle >= next) {
			const bool level = edges & 1;
			trace(PICKUP, level, next_ns);
			ignition_pickup(&ignition, level);
			edges++;
			edge_ns = next_ns;
			*(level ? &second_ns : &first_flank_ns) = next_ns;
			next_ns = first_ns + pulse_ns * ((double)(edges / 2) + (edges & 1 ? width : 0));
			continue;
		}
		if (!chip_step(chip, next)) {
			fprintf(stderr, "the ignition's chip has died\n");
			return 1;
		}
		if (edge_ns > 0 && chip_ns(chip, chip->slept_at) > edge_ns) {
			answered_at_worst_ns = fmax(answered_at_worst_ns, chip_ns(chip, chip->slept_at) - edge_ns);
			edge_ns = 0;
		}
	}
	trace_close(end_ns);
	fprintf(stderr, "deepest stack: %d bytes; an edge answered after %.0f us at worst\n", chip->avr->ramend - chip->lowest_stack,
		answered_at_worst_ns / 1000);
	if (ordered_at_worst_ns > 0)
		fprintf(stderr, "an order in the timer %.0f us after its edge at worst\n", ordered_at_worst_ns / 1000);
	if (begun_at_worst_ns > 0)
		fprintf(stderr, "a dwell begun %.0f us after its second flank at worst\n", begun_at_worst_ns / 1000);
	return chip->watchdog_resets ? 1 : 0;
}
