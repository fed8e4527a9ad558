/* compare_probe - what the library makes of two scans, for the reference tests
 *
 * compare_probe agreement
 *     Differences on standard input; prints count, bias, its interval, spread, lower limit and its interval,
 *     upper limit and its interval.
 * compare_probe share
 *     Pairs of hits and count; prints share and its interval, a line a pair.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <plyecho/agreement.h>

enum { MOST = 100000 };

static int tell_agreement(void)
{
    static double d[MOST];
    size_t n = 0;
    struct plyecho_agreement a;
    struct plyecho_error err;
    while (n < MOST && scanf("%lf", &d[n]) == 1)
        n++;
    if (plyecho_agreement_take(d, n, &a, &err) != PLYECHO_OK) {
        fprintf(stderr, "compare_probe: %s\n", err.text);
        return 2;
    }
    printf("%zu %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", a.count, a.bias,
           a.bias_95.least, a.bias_95.most, a.spread, a.lower, a.lower_95.least,
           a.lower_95.most, a.upper, a.upper_95.least, a.upper_95.most);
    return 0;
}

static int tell_shares(void)
{
    size_t hits, count;
    while (scanf("%zu %zu", &hits, &count) == 2) {
        struct plyecho_share s = plyecho_share_take(hits, count);
        printf("%.17g %.17g %.17g\n", s.share.value, s.interval_95.least, s.interval_95.most);
    }
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "agreement") == 0)
        return tell_agreement();
    if (argc == 2 && strcmp(argv[1], "share") == 0)
        return tell_shares();
    fprintf(stderr, "usage: compare_probe agreement|share\n");
    return 2;
}
