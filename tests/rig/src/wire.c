/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See wire.h. */
#include "wire.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { ROOM = sizeof ((struct wire *)0)->changes / sizeof *((struct wire *)0)->changes };

void wire_send(struct wire *wire, bool level, double ns)
{
	if (wire->count == ROOM) {
		fprintf(stderr, "a wire carries more than %d changes at once\n", ROOM);
		exit(1);
	}
	const unsigned at = (wire->first + wire->count++) % ROOM;
	wire->changes[at].ns = ns + wire->delay_ns;
	wire->changes[at].level = level;
}

double wire_next(const struct wire *wire)
{
	return wire->count ? wire->changes[wire->first].ns : INFINITY;
}

bool wire_take(struct wire *wire)
{
	const bool level = wire->changes[wire->first].level;
	wire->first = (wire->first + 1) % ROOM;
	wire->count--;
	return level;
}
