/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The ignition's chip alone, driven by lines of text: for a test that makes the edges itself.
 *
 *   by_pipe ELF [vcd=FILE]
 *
 * Lines in: `run NS` lets time pass up to that moment or to the first change of the coil's pin, and answers `1 NS`, `0 NS` or `- NS`: the level and
 * when; `pickup LEVEL`, `throttle_closed 0|1`, `hold 0|1`, `manifold VOLTS`, `battery VOLTS`, `power 0|1`. Without power its pins float and its
 * memory is lost; `power 1` alone is a reset. The trace's `ignition_runs` is low at either. Ends with its input. */
#include "ignition.h"
#include "trace.h"
#include "wire.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void coil(void *context, bool on, double ns)
{
	wire_send(context, on, ns);
}

static bool powered = true;

/* The chip begins anew in either case; the time without power passes in `run`. */
static void power(struct ignition *ignition, bool on)
{
	struct chip *chip = &ignition->chip;
	const double ns = chip_ns(chip, chip->avr->cycle);
	trace(IGNITION_RUNS, false, ns);
	chip_reset(chip);
	powered = on;
	if (on)
		trace(IGNITION_RUNS, true, ns + 1000);
}

static bool run(struct ignition *ignition, struct wire *wire, double until)
{
	struct chip *chip = &ignition->chip;
	const avr_cycle_count_t end = (avr_cycle_count_t)ceil((until - chip->begins_ns) / chip->ns_per_cycle);
	if (!powered && chip->avr->cycle < end) {
		chip->avr->cycle = end;
		/* It has run through nothing meanwhile. */
		coil_pin_reset(&chip->oc1a);
	}
	while (wire_next(wire) > until && chip->avr->cycle < end)
		if (!chip_step(chip, end))
			return false;
	if (wire_next(wire) <= until) {
		const double at = wire_next(wire);
		const bool level = wire_take(wire);
		printf("%d %.3f\n", level, at);
	} else {
		printf("- %.3f\n", until);
	}
	return true;
}

int main(int count, char **argument)
{
	static struct ignition ignition;
	static struct wire wire;
	const char *vcd = NULL;
	if (count < 2) {
		fprintf(stderr, "by_pipe ELF [vcd=FILE]\n");
		return 2;
	}
	for (int i = 2; i < count; i++) {
		if (!strncmp(argument[i], "vcd=", 4)) vcd = argument[i] + 4;
		else { fprintf(stderr, "unknown: %s\n", argument[i]); return 2; }
	}
	trace_open(vcd);
	ignition_open(&ignition, argument[1], 16e6, coil, &wire);
	char line[80], what[20];
	double value = 0;
	while (fgets(line, sizeof line, stdin)) {
		if (sscanf(line, "%19s %lf", what, &value) != 2) {
			fprintf(stderr, "not understood: %s", line);
			return 2;
		}
		if (!strcmp(what, "run")) {
			if (!run(&ignition, &wire, value)) {
				fprintf(stderr, "the ignition's chip has died\n");
				return 1;
			}
			fflush(stdout);
		} else if (!strcmp(what, "pickup")) {
			trace(PICKUP, value != 0, chip_ns(&ignition.chip, ignition.chip.avr->cycle));
			ignition_pickup(&ignition, value != 0);
		} else if (!strcmp(what, "throttle_closed")) ignition_throttle(&ignition, value != 0);
		else if (!strcmp(what, "hold")) ignition_hold(&ignition, value != 0);
		else if (!strcmp(what, "manifold")) ignition_manifold(&ignition, value);
		else if (!strcmp(what, "battery")) ignition_battery(&ignition, value);
		else if (!strcmp(what, "power")) power(&ignition, value != 0);
		else { fprintf(stderr, "unknown: %s", line); return 2; }
	}
	trace_close(chip_ns(&ignition.chip, ignition.chip.avr->cycle));
	return ignition.chip.watchdog_resets ? 1 : 0;
}
