/* layers_verdict.h - what the declared layers make of an assessment
 */
#ifndef PLYECHO_LIB_LAYERS_VERDICT_H
#define PLYECHO_LIB_LAYERS_VERDICT_H

#include "evidence.h"

/* Tell the layers apart and take the wall's thickness as their sum, each with its own velocity.
 * Nothing happens where none are declared. Before the verdict, which needs the thickness. */
void pe_layers_measure(const struct pe_evidence *evidence,
                       const struct plyecho_conditioned *trace,
                       const struct plyecho_assess_options *options,
                       struct plyecho_assessment *assessment);

/* After the verdict: depths through the layers, which boundary is at fault, and whether an echo is
 * one that was declared, so that it is not flagged. */
void pe_layers_judge(const struct pe_evidence *evidence,
                     const struct plyecho_conditioned *trace,
                     const struct plyecho_assess_options *options,
                     struct plyecho_assessment *assessment);

/* Where no impedances foretell an echo's strength, only the odds against a delamination tell a bond
 * from a gap under part of the beam; below these, our choice, an echo stays flagged. */
#define PE_LEAST_BOND_ODDS 3.0
bool pe_layers_odds_too_low(const struct plyecho_assessment *assessment);

/* The statement of that number about the layers, from 0, which may be empty; false behind the last.
 */
bool pe_layers_statement(const struct plyecho_assessment *assessment, size_t number, char *text,
                         size_t room);

#endif
