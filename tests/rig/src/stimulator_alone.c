/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The stimulator's chip alone, driven by lines of text: for a test that speaks the wire itself and judges the pins.
 *
 *   stimulator_alone ELF [vcd=FILE] [profile=FILE]
 *
 * Lines in: `send HEX` puts bytes on the serial line; `coil ON OFF` switches the coil's wire on and off so many nanoseconds after each fall of the
 * pickup's, `coil 0 0` not at all; `reset 0`; `run NS` lets time pass up to that moment. Lines out, in the order of time: `pickup LEVEL NS`,
 * `sent HEX`, `throttle CLOSED`, and after each run `- NS VOLTS` with the vacuum's. Ends with its input; then on stderr the deepest stack, the longest interrupt, the
 * longest stretch without interrupts, the share of time that the program slept, and bytes that overran. A profile has a line for each address: cycles. */
#include "stimulator.h"
#include "trace.h"
#include "wire.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { RETI = 0x9518, FLASH = 32768, SREG_I = 7 };

static struct stimulator stimulator;
static struct wire coil;
static double coil_on_ns, coil_off_ns;
static uint64_t profile[FLASH / 2];
static avr_cycle_count_t longest_interrupt, longest_off;

static void pickup(void *context, bool level, double ns)
{
	trace(PICKUP, level, ns);
	printf("pickup %d %.3f\n", level, ns);
	if (!level && coil_off_ns > 0) {
		wire_send(&coil, true, ns + coil_on_ns);
		wire_send(&coil, false, ns + coil_off_ns);
	}
}

static void throttle(void *context, bool closed)
{
	printf("throttle %d\n", closed);
}

static void drain(int line)
{
	uint8_t bytes[256];
	for (ssize_t count; (count = read(line, bytes, sizeof bytes)) > 0;) {
		printf("sent ");
		for (ssize_t i = 0; i < count; i++)
			printf("%02x", bytes[i]);
		printf("\n");
	}
}

/* One step, and what it says of interrupts and of where time goes. */
static bool step(avr_cycle_count_t until)
{
	static avr_cycle_count_t off_since, interrupt_since;
	static bool off = true, inside;
	avr_t *avr = stimulator.chip.avr;
	const avr_flashaddr_t at = avr->pc;
	const avr_cycle_count_t began = avr->cycle;
	const bool running = avr->state == cpu_Running;
	const bool reti = running && (avr->flash[at] | avr->flash[at + 1] << 8) == RETI;
	const bool lived = chip_step(&stimulator.chip, until);
	if (running)
		profile[at / 2] += avr->cycle - began;
	if (reti && inside) {
		if (avr->cycle - interrupt_since > longest_interrupt)
			longest_interrupt = avr->cycle - interrupt_since;
		inside = false;
	}
	const bool now_off = !avr->sreg[SREG_I];
	if (now_off && avr->pc < 26 * 4 && avr->pc > 0) {
		inside = true;
		interrupt_since = avr->cycle;
	}
	if (now_off && !off)
		off_since = avr->cycle;
	if (!now_off && off && off_since && avr->cycle - off_since > longest_off)
		longest_off = avr->cycle - off_since;
	off = now_off;
	return lived;
}

static bool run(double until, int line)
{
	struct chip *chip = &stimulator.chip;
	for (double now; (now = chip_ns(chip, chip->avr->cycle)) < until;) {
		serial_feed(&stimulator.serial);
		if (stimulator_filter(&stimulator))
			drain(line);
		if (wire_next(&coil) <= now) {
			const double at = wire_next(&coil);
			const bool level = wire_take(&coil);
			trace(COIL, level, at);
			chip_drive_capture(&stimulator.chip, level, at);
			continue;
		}
		const double next = fmin(fmin(until, wire_next(&coil)), now + 10000);
		if (!step((avr_cycle_count_t)ceil(next / chip->ns_per_cycle)))
			return false;
	}
	drain(line);
	printf("- %.3f %.4f\n", until, stimulator.vacuum_volts);
	fflush(stdout);
	return true;
}

static void to_chip(const char *hex, int line)
{
	unsigned byte;
	for (; sscanf(hex, "%2x", &byte) == 1; hex += 2) {
		const uint8_t b = (uint8_t)byte;
		if (write(line, &b, 1) != 1)
			perror("the serial line");
	}
}

int main(int count, char **argument)
{
	int line[2];
	const char *vcd = NULL, *profile_path = NULL;
	if (count < 2) {
		fprintf(stderr, "stimulator_alone ELF [vcd=FILE] [profile=FILE]\n");
		return 2;
	}
	for (int i = 2; i < count; i++) {
		if (!strncmp(argument[i], "vcd=", 4)) vcd = argument[i] + 4;
		else if (!strncmp(argument[i], "profile=", 8)) profile_path = argument[i] + 8;
		else { fprintf(stderr, "unknown: %s\n", argument[i]); return 2; }
	}
	if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0, line)) {
		perror("the serial line");
		return 3;
	}
	trace_open(vcd);
	stimulator.pickup = pickup;
	stimulator.throttle = throttle;
	stimulator_open(&stimulator, argument[1], 16e6, line[0]);
	struct chip *chip = &stimulator.chip;
	char text[600], what[20];
	double value, second;
	while (fgets(text, sizeof text, stdin)) {
		value = second = 0;
		if (!strncmp(text, "send ", 5)) {
			to_chip(text + 5, line[1]);
			continue;
		}
		if (sscanf(text, "%19s %lf %lf", what, &value, &second) < 2) {
			fprintf(stderr, "not understood: %s", text);
			return 2;
		}
		if (!strcmp(what, "run")) {
			if (!run(value, line[1])) {
				fprintf(stderr, "the stimulator's chip has died\n");
				return 1;
			}
		} else if (!strcmp(what, "coil")) {
			coil_on_ns = value;
			coil_off_ns = second;
		} else if (!strcmp(what, "reset")) {
			chip_reset(chip);
		} else {
			fprintf(stderr, "unknown: %s", text);
			return 2;
		}
	}
	trace_close(chip_ns(chip, chip->avr->cycle));
	uint64_t busy = 0;
	for (int i = 0; i < FLASH / 2; i++)
		busy += profile[i];
	fprintf(stderr, "deepest stack %d bytes; longest interrupt %d cycles; longest without interrupts %d cycles; slept %.1f %%; %lu bytes overran\n",
		chip->avr->ramend - chip->lowest_stack, (int)longest_interrupt, (int)longest_off,
		100 - 100.0 * (double)busy / (double)chip->avr->cycle, stimulator.serial.lost);
	if (profile_path) {
		FILE *file = fopen(profile_path, "w");
		for (int i = 0; file && i < FLASH / 2; i++)
			if (profile[i])
				fprintf(file, "%x %llu\n", i * 2, (unsigned long long)profile[i]);
		if (!file || fclose(file))
			perror(profile_path);
	}
	return 0;
}
