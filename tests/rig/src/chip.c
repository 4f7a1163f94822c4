/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See chip.h. */
#include "chip.h"

#include <avr_adc.h>
#include <avr_extint.h>
#include <avr_ioport.h>
#include <avr_watchdog.h>
#include <math.h>
#include <sim_core.h>
#include <sim_elf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RAM_START = 0x100, TIFR1 = 0x36, MCUSR = 0x54, EXTRF = 1 << 1, WDRF = 1 << 3, WDTCSR = 0x60, WATCHDOG_TIME = 0x27, ICR1 = 0x86 };

/* A one that is written to a flag of timer 1 clears that flag (data sheet, TIFR1). The simulator clears every flag that is up, and a
 * compare match or an overflow is lost: those that the program did not mean are raised again. */
static void flags_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *param)
{
	struct chip *chip = param;
	avr_timer_t *timer = chip->oc1a.timer;
	avr_int_vector_t *const vectors[] = {
		&timer->overflow, &timer->icr, &timer->comp[AVR_TIMER_COMPA].interrupt, &timer->comp[AVR_TIMER_COMPB].interrupt,
	};
	for (unsigned i = 0; i < sizeof vectors / sizeof *vectors; i++) {
		const uint8_t flag = (uint8_t)(1 << vectors[i]->raised.bit);
		if (chip->flags & flag & ~value)
			avr_raise_interrupt(avr, vectors[i]);
	}
}

/* A changed time of the watchdog holds at once (data sheet, "Watchdog Timer"); the simulator goes on with the old one until the next `wdr`. */
static void watchdog_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *param)
{
	struct chip *chip = param;
	const uint8_t time = avr->data[WDTCSR] & WATCHDOG_TIME;
	if (time != chip->watchdog_time)
		avr_ioctl(avr, AVR_IOCTL_WATCHDOG_RESET, NULL);
	chip->watchdog_time = time;
}

/* GNU binutils, include/elf/avr.h: the architecture in the header's flags, at byte 36; 51 has more than 64 KB of program. */
static bool is_for_large_chip(const char *elf)
{
	enum { FLAGS_AT = 36, ARCHITECTURE = 0x7f, AVR51 = 51 };
	FILE *file = fopen(elf, "rb");
	if (!file || fseek(file, FLAGS_AT, SEEK_SET)) {
		perror(elf);
		exit(2);
	}
	const int flags = fgetc(file);
	fclose(file);
	return (flags & ARCHITECTURE) == AVR51;
}

static void quiet_log(avr_t *avr, const int level, const char *format, va_list arguments)
{
	if (level == LOG_ERROR)
		vfprintf(stderr, format, arguments);
}

void chip_open(struct chip *chip, const char *name, const char *elf, double hz,
	void (*oc1a_changed)(void *, bool, avr_cycle_count_t), void *context)
{
	elf_firmware_t firmware;
	memset(&firmware, 0, sizeof firmware);
	avr_global_logger_set(quiet_log);
	if (elf_read_firmware(elf, &firmware)) {
		fprintf(stderr, "%s: not an ELF for an AVR; build the firmware first\n", elf);
		exit(2);
	}
	chip->name = name;
	chip->ns_per_cycle = 1e9 / hz;
	chip->large = is_for_large_chip(elf);
	const char *mcu = chip->large ? "atmega1284p" : "atmega328p";
	chip->avr = avr_make_mcu_by_name(mcu);
	if (!chip->avr) {
		fprintf(stderr, "the simulator knows no %s\n", mcu);
		exit(2);
	}
	avr_init(chip->avr);
	avr_load_firmware(chip->avr, &firmware);
	chip->avr->frequency = 16000000;
	chip->avr->vcc = chip->avr->avcc = chip->avr->aref = 5000;
	chip->avr->run_cycle_limit = 1;
	chip->run = chip->avr->run;
	/* Else the simulator looks at these pins in every cycle while they are low. No firmware here uses them as interrupts. */
	for (uint8_t interrupt = 0; interrupt < 2; interrupt++)
		avr_extint_set_strict_lvl_trig(chip->avr, interrupt, 0);
	chip->lowest_stack = chip->stack_before[0] = chip->stack_before[1] = chip->avr->ramend;
	coil_pin_open(&chip->oc1a, chip->avr, chip->large, oc1a_changed, context);
	avr_register_io_write(chip->avr, TIFR1, flags_written, chip);
	avr_register_io_write(chip->avr, WDTCSR, watchdog_written, chip);
}

/* A function's first instructions write the two bytes of the stack pointer one after the other, two instructions apart; in between it points up to 255
 * bytes too low. So a depth counts once it has held for three instructions. */
static void follow_stack(struct chip *chip)
{
	const uint16_t now = _avr_sp_get(chip->avr);
	uint16_t held = now;
	for (unsigned i = 0; i < 2; i++)
		if (chip->stack_before[i] > held)
			held = chip->stack_before[i];
	chip->stack_before[1] = chip->stack_before[0];
	chip->stack_before[0] = now;
	if (held >= RAM_START && held < chip->lowest_stack)
		chip->lowest_stack = held;
}

static void drop_left_out(struct chip *chip)
{
	avr_t *avr = chip->avr;
	for (avr_cycle_timer_slot_t *timer; (timer = avr->cycle_timers.timer) && timer->param == chip->left_out;)
		avr_cycle_timer_cancel(avr, timer->timer, timer->param);
}

bool chip_step(struct chip *chip, avr_cycle_count_t until)
{
	avr_t *avr = chip->avr;
	avr_flashaddr_t next = avr->pc;
	chip->flags = avr->data[TIFR1];
	if (chip->left_out)
		drop_left_out(chip);
	const bool was_running = avr->state == cpu_Running;
	if (was_running)
		next = avr_run_one(avr);
	const avr_cycle_count_t sleep = avr_cycle_timer_process(avr);
	avr->pc = next;
	/* It would reset the chip in the place of the next `avr_run`, which the rig does not call. */
	if (avr->run != chip->run) {
		fprintf(stderr, "%s: reset by its watchdog at %.1f ms\n", chip->name, chip_ns(chip, avr->cycle) / 1e6);
		chip->watchdog_resets++;
		chip_reset(chip);
		avr->run = chip->run;
		avr->data[MCUSR] = WDRF;
		return true;
	}
	if (avr->state == cpu_Sleeping) {
		if (!avr->sreg[S_I]) {
			fprintf(stderr, "%s sleeps with interrupts off\n", chip->name);
			return false;
		}
		if (was_running)
			chip->slept_at = avr->cycle;
		/* Not over what the other chip has yet to send. */
		const avr_cycle_count_t left = until > avr->cycle ? until - avr->cycle : 1;
		avr->cycle += sleep < 1 ? 1 : sleep < left ? sleep : left;
	}
	coil_pin_follow(&chip->oc1a);
	if (avr->state == cpu_Running || avr->state == cpu_Sleeping)
		avr_service_interrupts(avr);
	follow_stack(chip);
	return avr->state == cpu_Running || avr->state == cpu_Sleeping;
}

void chip_leave_out(struct chip *chip, char timer)
{
	for (avr_io_t *io = chip->avr->io_port; io; io = io->next)
		if (!strcmp(io->kind, "timer") && ((avr_timer_t *)io)->name == timer)
			chip->left_out = io;
}

avr_cycle_count_t chip_next_event(const struct chip *chip)
{
	const avr_cycle_timer_slot_t *timer = chip->avr->cycle_timers.timer;
	const avr_cycle_count_t match = coil_pin_next_match(&chip->oc1a, chip->avr->cycle);
	return timer && timer->when < match ? timer->when : match;
}

void chip_reset(struct chip *chip)
{
	avr_reset(chip->avr);
	/* The simulator keeps the memory; a real one keeps nothing that a program may rely on. */
	for (unsigned at = RAM_START; at <= chip->avr->ramend; at++)
		chip->avr->data[at] = (uint8_t)rand();
	chip->avr->data[MCUSR] = EXTRF;
	coil_pin_reset(&chip->oc1a);
	/* What drives its pins goes on driving them; the simulator forgets it, and takes no level that it has been told already. */
	for (unsigned port = 0; port < sizeof chip->driven / sizeof *chip->driven; port++)
		for (int bit = 0; bit < 8; bit++) {
			const bool level = chip->driven[port].value >> bit & 1;
			if (!(chip->driven[port].mask & 1u << bit))
				continue;
			chip_drive(chip, (char)('A' + port), bit, !level);
			chip_drive(chip, (char)('A' + port), bit, level);
		}
	for (int channel = 0; channel < CHIP_CHANNELS; channel++)
		chip_millivolts(chip, channel, chip->millivolts[channel]);
}

void chip_drive(struct chip *chip, char port, int bit, bool level)
{
	/* Stronger than a pull-up, which the simulator would let win when the program switches it on. */
	avr_ioport_external_t *external = &chip->driven[port - 'A'];
	external->name = port;
	external->mask |= 1u << bit;
	external->value = (external->value & ~(1u << bit)) | (unsigned)level << bit;
	avr_ioctl(chip->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), external);
	avr_raise_irq(avr_io_getirq(chip->avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), level);
}

void chip_drive_capture(struct chip *chip, bool level, double ns)
{
	const avr_timer_t *timer = chip->oc1a.timer;
	uint8_t *data = chip->avr->data;
	chip_drive(chip, chip->large ? 'D' : 'B', chip->large ? 6 : 0, level);
	if (!timer->tov_cycles)
		return;
	const double cycles_per_tick = (double)(timer->tov_cycles / 65536);
	const double now = floor((double)(chip->avr->cycle - timer->tov_base) / cycles_per_tick);
	const double then = floor(((ns - chip->begins_ns) / chip->ns_per_cycle - (double)timer->tov_base) / cycles_per_tick);
	const uint16_t captured = (uint16_t)(data[ICR1] | data[ICR1 + 1] << 8);
	if (captured != (uint16_t)(int32_t)now)
		return;
	const uint16_t right = (uint16_t)(int32_t)then;
	data[ICR1] = (uint8_t)right;
	data[ICR1 + 1] = (uint8_t)(right >> 8);
}

void chip_watch(struct chip *chip, char port, int bit, avr_irq_notify_t changed, void *context)
{
	avr_irq_register_notify(avr_io_getirq(chip->avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), changed, context);
}

void chip_millivolts(struct chip *chip, int channel, uint32_t millivolts)
{
	chip->millivolts[channel] = millivolts;
	avr_raise_irq(avr_io_getirq(chip->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + channel), millivolts);
}
