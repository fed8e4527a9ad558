#include <config.h>

#include "second_pass.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "lanes.h"
#include "pi.h"

/* Less of a second pass than this share is not compared. */
static const double least_held = 0.1;

/* Samples abreast, wherever they begin in memory. */
enum { ABREAST = PE_PASS_ABREAST };
typedef float floats
    __attribute__((vector_size(ABREAST * sizeof(float)), aligned(4), may_alias));

struct pe_floats {
    floats of;
};

void pe_second_pass_drop(struct pe_second_pass *p)
{
    if (p->backward != NULL)
        fftwf_destroy_plan(p->backward);
    fftwf_free(p->work);
    for (int i = 0; i < PE_TERMS; i++)
        for (int part = 0; part < 2; part++) {
            free(p->term[i][part]);
            free(p->match[i][part]);
        }
    free(p->energy);
    *p = (struct pe_second_pass){0};
}

bool pe_second_pass_plan(struct pe_second_pass *p, size_t length, size_t whole, long low,
                         long high)
{
    *p = (struct pe_second_pass){.length = length, .whole = whole, .low = low, .high = high};
    p->step = (double)whole / (double)length;
    p->carrier = length < whole ? (low + high) / 2 : 0;
    bool held = length > 0 && (p->work = fftwf_alloc_complex(length)) != NULL;
    for (int i = 0; i < PE_TERMS; i++)
        for (int part = 0; part < 2 && held; part++) {
            p->term[i][part] = pe_alloc(2 * length + ABREAST, sizeof(float));
            p->match[i][part] = pe_alloc(2 * length + ABREAST, sizeof(float));
            held = p->term[i][part] != NULL && p->match[i][part] != NULL;
        }
    if (held)
        p->energy = pe_alloc(length / ABREAST + 2, sizeof *p->energy);
    if (p->energy != NULL)
        p->backward =
            fftwf_plan_dft_1d((int)length, p->work, p->work, FFTW_BACKWARD, FFTW_ESTIMATE);
    if (p->backward == NULL)
        pe_second_pass_drop(p);
    return p->backward != NULL;
}

static size_t wrapped(const struct pe_second_pass *p, long i)
{
    long n = (long)p->length;
    return (size_t)((i % n + n) % n);
}

/* Samples from lines, twice in a row, so that a delay is but another place to begin. */
static void to_samples(const struct pe_second_pass *p, float *part[2])
{
    size_t n = p->length;
    fftwf_execute_dft(p->backward, p->work, p->work);
    for (size_t i = 0; i < n; i++) {
        part[0][i] = crealf(p->work[i]);
        part[1][i] = cimagf(p->work[i]);
    }
    for (int k = 0; k < 2; k++)
        memcpy(part[k] + n, part[k], n * sizeof *part[k]);
}

static float complex term_of(const struct pe_pass_spectra *s, int term, long k)
{
    float complex a = s->before[k], b = s->behind[k];
    return (term == 0 ? a * a : term == 1 ? 2.0f * a * b : b * b) * s->over[k];
}

void pe_second_pass_predict(struct pe_second_pass *p, const struct pe_pass_spectra *s)
{
    for (int i = 0; i < PE_TERMS; i++) {
        memset(p->work, 0, p->length * sizeof *p->work);
        for (long k = p->low; k < p->high; k++)
            p->work[wrapped(p, k - p->carrier)] = term_of(s, i, k);
        to_samples(p, p->term[i]);
        memset(p->work, 0, p->length * sizeof *p->work);
        for (long k = p->low; k < p->high; k++)
            p->work[wrapped(p, k - p->carrier)] = s->repeat[k] * conjf(term_of(s, i, k));
        to_samples(p, p->match[i]);
    }
}

/* Energy of the second pass up to every ABREAST-th sample, each lane by itself. */
PE_CLONES static void add_up(struct pe_second_pass *p, const size_t delay[PE_TERMS],
                             const float complex turn[PE_TERMS])
{
    const float *const *a = (const float *const *)p->term[0];
    const float *b[] = {p->term[1][0] + delay[1], p->term[1][1] + delay[1]};
    const float *c[] = {p->term[2][0] + delay[2], p->term[2][1] + delay[2]};
    const float br = crealf(turn[1]), bi = cimagf(turn[1]), cr = crealf(turn[2]),
                ci = cimagf(turn[2]);
    floats sum = {0};
    for (size_t i = 0; i < p->length; i += ABREAST) {
        floats re = *(const floats *)(a[0] + i) + br * *(const floats *)(b[0] + i) -
                    bi * *(const floats *)(b[1] + i) + cr * *(const floats *)(c[0] + i) -
                    ci * *(const floats *)(c[1] + i);
        floats im = *(const floats *)(a[1] + i) + br * *(const floats *)(b[1] + i) +
                    bi * *(const floats *)(b[0] + i) + cr * *(const floats *)(c[1] + i) +
                    ci * *(const floats *)(c[0] + i);
        p->energy[i / ABREAST].of = sum;
        sum += re * re + im * im;
    }
    p->energy[p->length / ABREAST].of = sum;
}

static double energy_up_to(const struct pe_second_pass *p, long i)
{
    const floats *below = &p->energy[i / ABREAST].of;
    double sum = 0.0, part = (double)(i % ABREAST) / ABREAST;
    for (int lane = 0; lane < ABREAST; lane++)
        sum += (1.0 - part) * (double)below[0][lane] +
               (part > 0.0 ? part * (double)below[1][lane] : 0.0);
    return sum;
}

/* The match at a lag, squared. */
static double matched(const struct pe_second_pass *p, const size_t from[PE_TERMS], size_t lag,
                      const float complex turn[PE_TERMS])
{
    float complex c = 0.0f;
    for (int i = 0; i < PE_TERMS; i++) {
        const float *re = p->match[i][0] + from[i], *im = p->match[i][1] + from[i];
        c += conjf(turn[i]) * (re[lag] + I * im[lag]);
    }
    return (double)crealf(c * conjf(c));
}

/* Energy of the second pass that falls within the repeat at a lag. */
static double energy_held(const struct pe_second_pass *p, long held, long lag)
{
    long n = (long)p->length, start = lag < 0 ? -lag : 0, end = held - lag < n ? held - lag : n;
    return start < end ? energy_up_to(p, end) - (start > 0 ? energy_up_to(p, start) : 0.0)
                       : 0.0;
}

double pe_second_pass_taken(struct pe_second_pass *p, const struct pe_lags *lags, long gap)
{
    double most = 0.0, angle = -2.0 * PE_PI * (double)(p->carrier * gap) / (double)p->whole;
    float complex once = (float complex)(cos(angle) + I * sin(angle));
    float complex turn[PE_TERMS] = {1.0f, once, once * once};
    long held = lround((double)lags->held / p->step);
    long first = lround((double)(lags->expected - gap - lags->reach) / p->step),
         last = lround((double)(lags->expected - gap + lags->reach) / p->step);
    size_t delay[PE_TERMS], from[PE_TERMS];
    for (int i = 0; i < PE_TERMS; i++) {
        long later = lround((double)(i * gap) / p->step);
        delay[i] = wrapped(p, -later);
        from[i] = wrapped(p, first + later);
    }
    if (last - first >= (long)p->length)
        return 0.0;
    add_up(p, delay, turn);
    double least = least_held * energy_up_to(p, (long)p->length);
    double bound = fmax(least, fmin(energy_held(p, held, first), energy_held(p, held, last)));
    for (long lag = first; lag <= last; lag++) {
        double match = matched(p, from, (size_t)(lag - first), turn);
        if (match <= most * bound)
            continue; /* no energy within reach of the bound makes that the most */
        double energy = energy_held(p, held, lag);
        if (energy > least)
            most = fmax(most, match / energy);
    }
    return most / p->step;
}
