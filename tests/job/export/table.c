/* Evaluates an exported curve in floating point by the rules that its header states, and prints the total advance on a
 * grid: SPEED ... , KPA ..., in crank rpm and kPa depression. Compiled as C99 and as C++11. */
#include "engine.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static double at(const struct bobweight_breakpoint *curve, int count, double x) {
    int i;
    if (x <= (double)curve[0].x) {
        return (double)curve[0].y;
    }
    for (i = 1; i < count; i++) {
        if (x <= (double)curve[i].x) {
            double run = (double)curve[i].x - (double)curve[i - 1].x;
            double rise = (double)curve[i].y - (double)curve[i - 1].y;
            return (double)curve[i - 1].y + rise * (x - (double)curve[i - 1].x) / run;
        }
    }
    return (double)curve[count - 1].y;
}

static double total(double rpm, double kpa) {
    double sum;
    if (rpm * BOBWEIGHT_STEPS_IN_A_CRANK_RPM < (double)engine.cranking_below) {
        return (double)engine.cranking / BOBWEIGHT_STEPS_IN_A_CRANK_DEGREE;
    }
    sum = (double)engine.initial + at(engine_centrifugal, ENGINE_CENTRIFUGAL_COUNT, rpm * BOBWEIGHT_STEPS_IN_A_CRANK_RPM);
#ifdef ENGINE_VACUUM_COUNT
    sum += at(engine_vacuum, ENGINE_VACUUM_COUNT, kpa * BOBWEIGHT_STEPS_IN_A_KPA);
#else
    (void)kpa;
#endif
    if (sum > (double)engine.greatest) {
        sum = (double)engine.greatest;
    }
    if (sum < (double)engine.least) {
        sum = (double)engine.least;
    }
    return sum / BOBWEIGHT_STEPS_IN_A_CRANK_DEGREE;
}

int main(int argc, char **argv) {
    int comma = 1, row, column;
    while (comma < argc && strcmp(argv[comma], ",") != 0) {
        comma++;
    }
    for (row = 1; row < comma; row++) {
        printf("%s", argv[row]);
        for (column = comma + 1; column < argc; column++) {
            printf(",%.3f", total(atof(argv[row]), atof(argv[column])));
        }
        printf("\n");
    }
    return 0;
}
