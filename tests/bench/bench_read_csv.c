/* Time to read one CSV trace of 2048 rows and two columns from memory. `make bench` prints it.
 */
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

static void bench(const char *name, const char *format, double rate_mhz)
{
    static char text[ROWS * 80];
    static double times[ROUNDS];
    size_t size = (size_t)sprintf(text, "time_us,amplitude\n");
    for (int i = 0; i < ROWS; i++) {
        double x = sin(0.6 * i) * exp(-0.002 * i) + 0.01 * sin(17.0 * i * i);
        size += (size_t)sprintf(text + size, format, i / rate_mhz, x);
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
    printf("%-34s %7zu bytes  median %6.1f us  least %6.1f us\n", name, size, times[ROUNDS / 2],
           times[0]);
}

int main(void)
{
    bench("0.01,-0.12345", "%.2f,%.5f\n", 100.0);
    bench("0.010000,-0.12345678", "%.6f,%.8f\n", 100.0);
    bench("rounded time, 79.972 MHz", "%.3f,%.6f\n", 79.972);
    bench("17 digits", "%.17g,%.17g\n", 100.0);
    bench("1.000000e-02, 7 digits", "%.6e,%.6e\n", 100.0);
    bench("19 digits with exponent", "%.18e,%.18e\n", 100.0);
    return EXIT_SUCCESS;
}
