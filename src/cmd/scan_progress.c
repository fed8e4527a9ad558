#include <config.h>

#include "scan_progress.h"

#include <stdio.h>
#include <time.h>

enum { BAR = 30 };

static const double between_s = 0.2;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

void scan_progress_begin(struct scan_progress *p, size_t all, bool shown)
{
    double now = now_s();
    *p = (struct scan_progress){shown, 0, all, now, now};
}

static void tell(const struct scan_progress *p, double now)
{
    double left_s = (now - p->began_s) * (double)(p->all - p->done) / (double)p->done;
    char bar[BAR + 1];
    size_t full = BAR * p->done / p->all;
    for (size_t k = 0; k < BAR; k++)
        bar[k] = k < full ? '#' : '.';
    bar[BAR] = '\0';
    fprintf(stderr, "\r%s %zu of %zu traces, about %.0f s left \033[K", bar, p->done, p->all,
            left_s);
    fflush(stderr);
}

void scan_progress_step(struct scan_progress *p)
{
    p->done++;
    if (!p->shown)
        return;
    double now = now_s();
    if (now - p->told_s < between_s)
        return;
    p->told_s = now;
    tell(p, now);
}

void scan_progress_end(struct scan_progress *p)
{
    if (p->shown)
        fputs("\r\033[K", stderr);
}
