/* Time to read one CSV trace of 2048 rows and two columns from memory. `make bench` prints it.
 */
#include <config.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <plyecho/tracefile.h>

enum { ROWS = 2048, ROUNDS = 4000 };

static double now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e6 + (double)t.tv_nsec * 1e-3;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* One row: fixed decimals where they are positive, else an exponent with that many. */
static int put_row(char *p, int time_digits, double time_us, int digits, double x)
{
    if (digits > 0)
        return sprintf(p, "%.*f,%.*f\n", time_digits, time_us, digits, x);
    return sprintf(p, "%.*e,%.*e\n", -digits, time_us, -digits, x);
}

static void bench(const char *name, int time_digits, int digits, double rate_mhz)
{
    static char text[ROWS * 80];
    static double times[ROUNDS];
    size_t size = (size_t)sprintf(text, "time_us,amplitude\n");
    for (int i = 0; i < ROWS; i++) {
        double x = sin(0.6 * i) * exp(-0.002 * i) + 0.01 * sin(17.0 * i * i);
        size += (size_t)put_row(text + size, time_digits, i / rate_mhz, digits, x);
    }
    for (int i = 0; i < ROUNDS; i++) {
        struct plyecho_traces traces;
        struct plyecho_error err;
        double start = now_us();
        if (plyecho_tracefile_read(text, size, NULL, &traces, &err) != PLYECHO_OK) {
            fprintf(stderr, "%s\n", err.text);
            exit(EXIT_FAILURE);
        }
        times[i] = now_us() - start;
        plyecho_traces_clear(&traces);
    }
    qsort(times, ROUNDS, sizeof times[0], by_size);
    printf("%-28s %7zu bytes  median %6.1f us  least %6.1f us\n", name, size, times[ROUNDS / 2],
           times[0]);
}

int main(void)
{
    bench("0.01,-0.12345", 2, 5, 100.0);
    bench("0.0100,-0.123456", 4, 6, 100.0);
    bench("0.010000,-0.12345678", 6, 8, 100.0);
    bench("rounded time, 79.972 MHz", 3, 6, 79.972);
    bench("1.000000e-02, 7 digits", 0, -6, 100.0);
    bench("17 digits with exponent", 0, -16, 100.0);
    return EXIT_SUCCESS;
}
