/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Both chips, wired together, each with a serial port on a pseudo-terminal. Runs until interrupted.
 *
 *   rig --ignition ELF --stimulator ELF [--ppm N] [--coil-late NS] [--pickup-late NS] [--phase NS] [--vcd FILE] [--resets NS] [--copy FILE] [--speed X]
 *       [--jumper] [--eeprom FILE] [--cut N | --cut-after N] [--edge N]
 *
 * --ppm N         the ignition's clock is so many parts per million fast
 * --coil-late NS  the coil's wire carries each change so many nanoseconds late; --pickup-late the pickup's
 * --phase NS      the ignition is switched on so much later
 * --resets NS     the stimulator's board is reset by the first byte that it receives, and hears nothing for so long: as a board that resets when its
 *                 serial port is opened, and whose loader waits for a new program first
 * --copy FILE     all that the stimulator sends, at once
 * --speed X       no faster than X times real time; 1 when left out
 * --jumper        the hold jumper is in its place at key-on
 * --eeprom FILE   what the ignition keeps without power: read at key-on, written at the end
 * --cut N         power goes while byte N of those that are written to the EEPROM, from 1, is being written: it is left random; --cut-after: just after it
 * --edge N        the pickup's wire rises and falls while that byte is being written */
#include "eeprom.h"
#include "ignition.h"
#include "stimulator.h"
#include "trace.h"
#include "wire.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

struct rig {
	struct ignition ignition;
	struct stimulator stimulator;
	struct wire pickup, coil;
	struct eeprom eeprom;
	unsigned long edge_at;	/* 0: never, or done */
};

static volatile sig_atomic_t interrupted;

static void interrupt(int signal)
{
	interrupted = 1;
}

static void coil_changed(void *context, bool on, double ns)
{
	wire_send(&((struct rig *)context)->coil, on, ns);
}

static void pickup_changed(void *context, bool level, double ns)
{
	trace(PICKUP, level, ns);
	wire_send(&((struct rig *)context)->pickup, level, ns);
}

static void throttle_changed(void *context, bool closed)
{
	ignition_throttle(&((struct rig *)context)->ignition, closed);
}

static avr_cycle_count_t cycle_of(const struct chip *chip, double ns)
{
	const double cycle = ceil((ns - chip->begins_ns) / chip->ns_per_cycle);
	return cycle < 1e18 ? (avr_cycle_count_t)cycle : (avr_cycle_count_t)1e18;
}

/* When a chip may next do anything: at once while its program runs; asleep, at its next event, or when its wire or its serial line bring
 * something. */
static double next_action(const struct chip *chip, const struct wire *wire, const struct serial *serial)
{
	const double now = chip_ns(chip, chip->avr->cycle);
	if (chip_runs(chip))
		return now;
	const double own = chip_ns(chip, chip_next_event(chip)), line = chip_ns(chip, serial->next_byte);
	return fmax(now, fmin(fmin(own, line), wire_next(wire)));
}

/* Steps the chip that may act first: by one instruction, or out of its sleep to the moment when it may. */
static bool step(struct chip *chip, struct wire *wire, double action, void (*arrived)(struct rig *, bool, double), struct rig *rig)
{
	if (wire_next(wire) <= chip_ns(chip, chip->avr->cycle)) {
		const double at = wire_next(wire);
		arrived(rig, wire_take(wire), at);
		return true;
	}
	return chip_step(chip, cycle_of(chip, action));
}

static void at_ignition(struct rig *rig, bool level, double ns)
{
	chip_drive_capture(&rig->ignition.chip, level, ns);
}

static void at_stimulator(struct rig *rig, bool level, double ns)
{
	chip_drive_capture(&rig->stimulator.chip, level, ns);
}

/* After so long without a byte of a host's it goes no faster than real time; and how long a pulse of the rig's own lasts. */
enum { HOST_WAITED_FOR_NS = 500000000, PULSE_NS = 2000000 };

/* Waits where the simulation is ahead of real time. */
static void keep_pace(double ns, double speed, struct timespec *since)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	const double real = (double)(now.tv_sec - since->tv_sec) * 1e9 + (double)(now.tv_nsec - since->tv_nsec);
	const double ahead = ns / speed - real;
	if (ahead > 0) {
		const struct timespec rest = { .tv_sec = (time_t)(ahead / 1e9), .tv_nsec = (long)fmod(ahead, 1e9) };
		nanosleep(&rest, NULL);
	}
	/* Time that was lost is not made up for: the chips would outrun a host that was held up together with them. */
	clock_gettime(CLOCK_MONOTONIC, since);
}

static void turn_a_little(struct rig *rig)
{
	const double now = chip_ns(&rig->ignition.chip, rig->ignition.chip.avr->cycle);
	pickup_changed(rig, true, now);
	pickup_changed(rig, false, now + PULSE_NS);
	rig->edge_at = 0;
}

/* When either chip last heard its host. */
static double heard_ns(const struct rig *rig)
{
	return fmax(chip_ns(&rig->stimulator.chip, rig->stimulator.serial.heard_at), chip_ns(&rig->ignition.chip, rig->ignition.serial.heard_at));
}

static bool run(struct rig *rig, double speed)
{
	struct chip *ignition = &rig->ignition.chip, *stimulator = &rig->stimulator.chip;
	struct timespec since;
	double paced = 0;
	clock_gettime(CLOCK_MONOTONIC, &since);
	while (!interrupted) {
		const double a = next_action(ignition, &rig->pickup, &rig->ignition.serial);
		const double b = next_action(stimulator, &rig->coil, &rig->stimulator.serial);
		if (a <= b) {
			serial_feed(&rig->ignition.serial);
			if (!step(ignition, &rig->pickup, a, at_ignition, rig))
				return false;
			if (rig->edge_at && rig->eeprom.written >= rig->edge_at)
				turn_a_little(rig);
		} else {
			serial_feed(&rig->stimulator.serial);
			if (!step(stimulator, &rig->coil, b, at_stimulator, rig))
				return false;
			if (stimulator_filter(&rig->stimulator))
				ignition_manifold(&rig->ignition, rig->stimulator.vacuum_volts);
		}
		if (b - paced > 2e6) {
			/* A host that is held up for a moment must not look silent for longer than it is. */
			const bool waits = b - heard_ns(rig) > HOST_WAITED_FOR_NS;
			keep_pace(b - paced, waits ? fmin(speed, 1) : speed, &since);
			paced = b;
		}
	}
	return true;
}

static void greet(const struct rig *rig)
{
	printf("stimulator: %s\nignition:   %s\n\nIn another window:\n\n"
	       "    bobweight bench SHEET --serial %s\n\nwith the sheet that the ignition was built for. Ctrl-C ends the rig.\n",
		rig->stimulator.serial.path, rig->ignition.serial.path, rig->stimulator.serial.path);
	fflush(stdout);
}

static void report(const struct rig *rig)
{
	const struct chip *chips[] = { &rig->ignition.chip, &rig->stimulator.chip };
	const struct serial *serials[] = { &rig->ignition.serial, &rig->stimulator.serial };
	for (int i = 0; i < 2; i++)
		fprintf(stderr, "%s: deepest stack %d bytes, %lu received bytes overran\n", chips[i]->name,
			chips[i]->avr->ramend - chips[i]->lowest_stack, serials[i]->lost);
	fprintf(stderr, "%lu bytes written to the EEPROM\n", rig->eeprom.written);
}

int main(int count, char **argument)
{
	static struct rig rig;
	const char *ignition = NULL, *stimulator = NULL, *vcd = NULL, *copy = NULL, *eeprom = NULL;
	unsigned long cut = 0, cut_after = 0;
	double ppm = 0, phase = 0, speed = 1, resets = 0;
	bool jumper = false;
	for (int i = 1; i < count; i++) {
		const char *name = argument[i];
		if (!strcmp(name, "--jumper")) {
			jumper = true;
			continue;
		}
		const char *value = i + 1 < count ? argument[++i] : "";
		if (!strcmp(name, "--ignition")) ignition = value;
		else if (!strcmp(name, "--stimulator")) stimulator = value;
		else if (!strcmp(name, "--vcd")) vcd = value;
		else if (!strcmp(name, "--ppm")) ppm = atof(value);
		else if (!strcmp(name, "--coil-late")) rig.coil.delay_ns = atof(value);
		else if (!strcmp(name, "--pickup-late")) rig.pickup.delay_ns = atof(value);
		else if (!strcmp(name, "--phase")) phase = atof(value);
		else if (!strcmp(name, "--resets")) resets = atof(value);
		else if (!strcmp(name, "--copy")) copy = value;
		else if (!strcmp(name, "--eeprom")) eeprom = value;
		else if (!strcmp(name, "--cut")) cut = strtoul(value, NULL, 10);
		else if (!strcmp(name, "--cut-after")) cut_after = strtoul(value, NULL, 10);
		else if (!strcmp(name, "--edge")) rig.edge_at = strtoul(value, NULL, 10);
		else if (!strcmp(name, "--speed")) speed = atof(value);
		else { fprintf(stderr, "unknown option %s\n", name); return 2; }
	}
	if (!ignition || !stimulator || speed <= 0) {
		fprintf(stderr, "rig --ignition ELF --stimulator ELF; further options stand at the top of tests/rig/src/rig.c\n");
		return 2;
	}
	signal(SIGINT, interrupt);
	signal(SIGTERM, interrupt);
	trace_open(vcd);
	rig.stimulator.pickup = pickup_changed;
	rig.stimulator.throttle = throttle_changed;
	rig.stimulator.context = &rig;
	ignition_open(&rig.ignition, ignition, 16e6 * (1 + ppm / 1e6), coil_changed, &rig);
	eeprom_open(&rig.eeprom, &rig.ignition.chip, eeprom);
	if (cut || cut_after)
		eeprom_cut(&rig.eeprom, cut ? cut : cut_after, !cut);
	rig.ignition.chip.begins_ns = phase;
	ignition_hold(&rig.ignition, jumper);
	stimulator_open(&rig.stimulator, stimulator, 16e6, -1);
	rig.stimulator.serial.deaf_cycles = (avr_cycle_count_t)(resets / rig.stimulator.chip.ns_per_cycle);
	if (copy && !(rig.stimulator.serial.copy = fopen(copy, "wb"))) {
		perror(copy);
		return 4;
	}
	if (copy)
		setvbuf(rig.stimulator.serial.copy, NULL, _IONBF, 0);
	greet(&rig);
	const bool lived = run(&rig, speed);
	trace_close(chip_ns(&rig.stimulator.chip, rig.stimulator.chip.avr->cycle));
	eeprom_keep(&rig.eeprom);
	report(&rig);
	if (copy && fclose(rig.stimulator.serial.copy))
		perror(copy);
	return lived && !rig.ignition.chip.watchdog_resets && !rig.stimulator.chip.watchdog_resets ? 0 : 1;
}
