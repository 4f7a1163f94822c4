/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A wire from one chip to the other that carries its changes in the order of time, late by a stated delay. */
#ifndef RIG_WIRE_H
#define RIG_WIRE_H

#include <stdbool.h>

struct wire {
	struct { double ns; bool level; } changes[64];
	unsigned first, count;
	double delay_ns;
};

void wire_send(struct wire *wire, bool level, double ns);
/* When the next change arrives; infinite when none is on its way. */
double wire_next(const struct wire *wire);
/* Takes the next change off the wire. */
bool wire_take(struct wire *wire);

#endif
