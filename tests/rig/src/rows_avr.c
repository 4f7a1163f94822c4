/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a program does to the coil's pin where simulator and chip part: one row each, chosen by GPIOR0. For rows.c, which holds
 * the pin that the rig works out to what the data sheet says. Compiled for the ATmega328P. */
#include <avr/io.h>

enum { SET = _BV(COM1A1) | _BV(COM1A0), CLEAR = _BV(COM1A1) };

static void until(uint16_t tick)
{
	while ((int16_t)(TCNT1 - tick) < 0)
		;
}

/* Coil on at tick 1 000, by a match. */
static void on(void)
{
	OCR1A = 1000;
	TCCR1A = SET;
	until(1100);
}

static void off_at(uint16_t tick)
{
	OCR1A = tick;
	TCCR1A = CLEAR;
}

static void force(uint8_t mode)
{
	TCCR1A = mode;
	TCCR1C = _BV(FOC1A);
}

/* Of 100 us, and as long a rest. */
static void pulse(void)
{
	force(SET);
	for (uint16_t start = TCNT1; TCNT1 - start < 200;)
		;
	force(CLEAR);
	for (uint16_t start = TCNT1; TCNT1 - start < 200;)
		;
}

int main(void)
{
	const uint8_t cause = MCUSR;
	MCUSR = 0;
	DDRB = _BV(PB1);
	TCCR1A = CLEAR;
	TCCR1B = _BV(CS11);
	switch (GPIOR0) {
	case 1: /* a compare register that is written moves nothing, nor does an overflow */
		on();
		OCR1A = 2000;
		until(1200);
		off_at(3000);
		break;
	case 2: /* nor does a write to the port */
		on();
		PORTB = _BV(PB5);
		PORTB = 0;
		off_at(3000);
		break;
	case 3: /* disconnected, the pin takes the port's level */
		on();
		until(2000);
		TCCR1A = 0;
		break;
	case 4: /* a forced match acts at once */
		until(1000);
		force(SET);
		until(2000);
		force(CLEAR);
		break;
	case 5: /* a reset lets the pin float; the rig makes it */
		on();
		off_at(60000);
		break;
	case 6: /* an off time written two ticks late holds the coil on for a whole wrap */
		on();
		off_at(TCNT1 - 2);
		break;
	case 7: /* a flag that is cleared leaves the others up */
		OCR1A = 500;
		OCR1B = 500;
		until(1000);
		TIFR1 = _BV(OCF1B);
		if ((TIFR1 & (_BV(OCF1A) | _BV(OCF1B))) == _BV(OCF1A)) {
			force(SET);
			until(2000);
			force(CLEAR);
		}
		break;
	case 8: /* three received bytes are kept, and no more: one pulse of the pin for each */
		UBRR0 = 3;
		UCSR0B = _BV(RXEN0);
		until(10000);
		while (UCSR0A & _BV(RXC0)) {
			(void)UDR0;
			pulse();
		}
		break;
	case 9: /* the cause of a reset: one pulse of the pin where it is told */
		if (cause == _BV(PORF) || cause == _BV(EXTRF))
			pulse();
		break;
	case 10: /* a chip would read its own pin at 1, and hold it for longer */
		on();
		off_at(PINB & _BV(PB1) ? 3000 : 1300);
		break;
	case 11: /* on for as long as the write of a byte takes: 3.4 ms on a chip */
		EEAR = 0;
		EEDR = 0x55;
		force(SET);
		EECR = _BV(EEMPE);
		EECR |= _BV(EEPE);
		while (EECR & _BV(EEPE))
			;
		force(CLEAR);
		break;
	case 12: /* a pulse where half of the reference is 511; 512 on a chip */
		ADMUX = _BV(REFS0);
		ADCSRA = _BV(ADEN) | _BV(ADSC) | 7;
		while (ADCSRA & _BV(ADSC))
			;
		if (ADC == 511)
			pulse();
		break;
	case 13: /* a pulse after each reset by the watchdog, which then comes every 16 ms */
		if (cause == _BV(WDRF))
			pulse();
		WDTCSR = _BV(WDCE) | _BV(WDE);
		WDTCSR = _BV(WDE);
		break;
	case 14: /* the same every 32 ms */
		if (cause == _BV(WDRF))
			pulse();
		WDTCSR = _BV(WDCE) | _BV(WDE);
		WDTCSR = _BV(WDE);
		WDTCSR = _BV(WDCE) | _BV(WDE);
		WDTCSR = _BV(WDE) | _BV(WDP0);
		break;
	}
	for (;;)
		;
}
