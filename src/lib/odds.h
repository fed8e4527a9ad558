/* odds.h - odds as they are told
 */
#ifndef PLYECHO_LIB_ODDS_H
#define PLYECHO_LIB_ODDS_H

/* Of two logarithmic weights: at least 1, never above 1000, because no model here is better than
 * that. */
double pe_odds(double log_best, double log_next);

#endif
