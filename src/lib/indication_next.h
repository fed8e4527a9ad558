/* indication_next.h - how far it is from each indication to the next one
 */
#ifndef PLYECHO_LIB_INDICATION_NEXT_H
#define PLYECHO_LIB_INDICATION_NEXT_H

#include <plyecho/indications.h>

/* Fill next_m of each in the list; all else stands. PLYECHO_NO_MEMORY. */
enum plyecho_code pe_indication_next(const struct plyecho_grid *grid,
                                     struct plyecho_indication *list, size_t count,
                                     struct plyecho_error *err);

#endif
