/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See serial.h.
 *
 * The chip keeps two received bytes, and a third in its shift register; the next one is lost and sets the overrun flag (data sheet,
 * USART, "Receive Complete Flag and Interrupt", "Data OverRun"). The simulator keeps 64 and sets no flag, so the rig holds bytes back. */
#define _GNU_SOURCE
#include "serial.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { UCSR0A = 0xc0, UCSR0B = 0xc1, DOR0 = 1 << 3, RXEN0 = 1 << 4, CYCLES_BETWEEN_LOOKS = 16000 };

static void sent(avr_irq_t *irq, uint32_t value, void *param)
{
	const struct serial *serial = param;
	const uint8_t byte = (uint8_t)value;
	if (serial->copy)
		fputc(byte, serial->copy);
	/* Nobody at the other end, and full: a line with nothing plugged in. */
	if (write(serial->terminal, &byte, 1) < 0 && errno != EAGAIN)
		perror(serial->path);
}

static int open_terminal(struct serial *serial)
{
	struct termios raw;
	serial->terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (serial->terminal < 0 || grantpt(serial->terminal) || unlockpt(serial->terminal)
		|| ptsname_r(serial->terminal, serial->path, sizeof serial->path))
		return -1;
	/* Held open, so that one host after another can come and go. */
	serial->other_end = open(serial->path, O_RDWR | O_NOCTTY);
	if (serial->other_end < 0 || tcgetattr(serial->other_end, &raw))
		return -1;
	cfmakeraw(&raw);
	return tcsetattr(serial->other_end, TCSANOW, &raw);
}

void serial_attach(struct serial *serial, struct chip *chip, unsigned baud, int line)
{
	uint32_t flags = 0;
	serial->chip = chip;
	serial->terminal = line;
	serial->shifted = -1;
	serial->cycles_per_byte = 10 * 16000000ULL / baud;
	for (avr_io_t *io = chip->avr->io_port; io; io = io->next)
		if (!strcmp(io->kind, "uart"))
			serial->uart = (avr_uart_t *)io;
	avr_ioctl(chip->avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
	flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
	avr_ioctl(chip->avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
	avr_irq_register_notify(avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, serial);
}

void serial_open(struct serial *serial, struct chip *chip, unsigned baud)
{
	memset(serial, 0, sizeof *serial);
	if (open_terminal(serial)) {
		perror("a pseudo-terminal");
		exit(3);
	}
	serial_attach(serial, chip, baud, serial->terminal);
}

static void complete(struct serial *serial, uint8_t byte)
{
	avr_raise_irq(avr_io_getirq(serial->chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
}

void serial_feed(struct serial *serial)
{
	avr_t *avr = serial->chip->avr;
	const unsigned unread = (unsigned)(serial->uart->input.write - serial->uart->input.read) & (uart_fifo_fifo_size - 1);
	if (unread < serial->unread)
		avr->data[UCSR0A] &= (uint8_t)~DOR0;
	serial->unread = unread;
	if (serial->shifted >= 0 && unread < 2) {
		complete(serial, (uint8_t)serial->shifted);
		serial->shifted = -1;
	}
	/* A host may open the terminal before the chip has begun: what it sends waits for the receiver. */
	if (avr->cycle < serial->next_byte)
		return;
	uint8_t byte;
	if (!(avr->data[UCSR0B] & RXEN0) || read(serial->terminal, &byte, 1) != 1) {
		/* Looked for every millisecond, which is what a host's driver takes as well. */
		serial->next_byte = avr->cycle + CYCLES_BETWEEN_LOOKS;
		return;
	}
	serial->heard_at = avr->cycle;
	if (serial->deaf_cycles) {
		chip_reset(serial->chip);
		serial->deaf_until = avr->cycle + serial->deaf_cycles;
		serial->deaf_cycles = 0;
	}
	/* The simulator takes a little longer over a byte than the chip. */
	serial->next_byte = avr->cycle + serial->cycles_per_byte + serial->cycles_per_byte / 8;
	if (avr->cycle < serial->deaf_until)
		return;
	if (serial->shifted >= 0) {
		serial->lost++;
		avr->data[UCSR0A] |= DOR0;
	} else if (unread >= 2) {
		serial->shifted = byte;
	} else {
		complete(serial, byte);
	}
}
