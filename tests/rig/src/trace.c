/* SPDX-License-Identifier: GPL-3.0-or-later */
/* See trace.h. Two chips report in turn, so changes are kept for a millisecond and written in the order of time. */
#include "trace.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

static const char *const names[SIGNALS] = {
	"pickup", "coil", "strobe", "throttle_closed", "tachometer", "lamp", "ignition_runs",
};

struct change {
	int64_t ns;
	unsigned order;
	uint8_t signal, level;
};

enum { ROOM = 4096 };

static FILE *file;
static struct change waiting[ROOM];
static unsigned count, order;
static int64_t written = -1;
static int8_t levels[SIGNALS];

static int by_time(const void *left, const void *right)
{
	const struct change *a = left, *b = right;
	if (a->ns != b->ns)
		return a->ns < b->ns ? -1 : 1;
	return a->order < b->order ? -1 : a->order > b->order;
}

static void flush(int64_t until)
{
	qsort(waiting, count, sizeof *waiting, by_time);
	unsigned done = 0;
	for (; done < count && waiting[done].ns <= until; done++) {
		const struct change *change = &waiting[done];
		if (levels[change->signal] == change->level)
			continue;
		levels[change->signal] = (int8_t)change->level;
		if (change->ns > written) {
			fprintf(file, "#%lld\n", (long long)change->ns);
			written = change->ns;
		}
		fprintf(file, "%d%c\n", change->level, '!' + change->signal);
	}
	for (unsigned i = done; i < count; i++)
		waiting[i - done] = waiting[i];
	count -= done;
}

void trace_open(const char *path)
{
	if (!path)
		return;
	file = fopen(path, "w");
	if (!file) {
		perror(path);
		exit(4);
	}
	fputs("$timescale 1 ns $end\n$scope module rig $end\n", file);
	for (int i = 0; i < SIGNALS; i++)
		fprintf(file, "$var wire 1 %c %s $end\n", '!' + i, names[i]);
	fputs("$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n", file);
	for (int i = 0; i < SIGNALS; i++)
		fprintf(file, "0%c\n", '!' + i);
	fputs("$end\n", file);
	written = 0;
}

void trace(enum signal signal, bool level, double ns)
{
	if (!file)
		return;
	waiting[count] = (struct change){ .ns = llround(ns), .order = order++, .signal = signal, .level = level };
	if (++count == ROOM || waiting[count - 1].ns > waiting[0].ns + 2000000)
		flush(waiting[count - 1].ns - 1000000);
	if (count == ROOM)
		flush(INT64_MAX);
}

void trace_close(double ns)
{
	if (!file)
		return;
	flush(INT64_MAX);
	fprintf(file, "#%lld\n", (long long)llround(ns));
	if (fclose(file))
		perror("the trace");
}
