#include <plyecho/plies.h>

#include <math.h>
#include <stdbool.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

size_t plyecho_plies_layers(size_t count)
{
    return count == 0 ? 0 : 2 * count - 1;
}

static double scattered(gsl_rng *random, double mean, double scatter)
{
    return mean * fmax(0.1, 1.0 + gsl_ran_gaussian_ziggurat(random, scatter));
}

static enum plyecho_code check(const struct plyecho_plies *plies, struct plyecho_error *err)
{
    if (plies->count == 0)
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT, "a laminate of 0 plies; give 1 or more");
    if (!(plies->ply_scatter >= 0.0 && plies->ply_scatter <= 0.5))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a scatter of the ply thickness of %g; give 0 to 0.5",
                            plies->ply_scatter);
    if (!(plies->film_scatter >= 0.0 && plies->film_scatter <= 1.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "a scatter of the resin films of %g; give 0 to 1",
                            plies->film_scatter);
    return PLYECHO_OK;
}

enum plyecho_code plyecho_plies_lay(const struct plyecho_plies *plies, unsigned long seed,
                                    struct plyecho_layer *layers, struct plyecho_error *err)
{
    enum plyecho_code code = check(plies, err);
    if (code != PLYECHO_OK)
        return code;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return plyecho_fail(err, PLYECHO_NO_MEMORY, "no memory for a random number generator");
    gsl_rng_set(random, seed);
    size_t count = plyecho_plies_layers(plies->count);
    double plies_m = 0.0, films_m = 0.0;
    for (size_t i = 0; i < count; i++) {
        bool ply = i % 2 == 0;
        layers[i] = ply ? plies->wall : plies->film;
        layers[i].thickness_m = scattered(random, ply ? 1.0 : plies->film.thickness_m,
                                          ply ? plies->ply_scatter : plies->film_scatter);
        *(ply ? &plies_m : &films_m) += layers[i].thickness_m;
    }
    gsl_rng_free(random);
    double left_m = plies->wall.thickness_m - films_m;
    if (!(left_m > 0.0))
        return plyecho_fail(err, PLYECHO_BAD_ARGUMENT,
                            "%zu resin films of %g mm leave no room for plies in %g mm",
                            plies->count - 1, plies->film.thickness_m * 1e3,
                            plies->wall.thickness_m * 1e3);
    for (size_t i = 0; i < count; i += 2)
        layers[i].thickness_m *= left_m / plies_m;
    return PLYECHO_OK;
}
