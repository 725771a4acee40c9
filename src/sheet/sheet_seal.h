/* sheet_seal.h - the seal as the desk can compute it: from the sheet alone. */
#ifndef SHEET_SHEET_SEAL_H
#define SHEET_SHEET_SEAL_H

#include "portmuster/seal.h"
#include "sheet/returned.h"
#include "sheet/trouble.h"

struct sheet_seal {
	const char *site;
	struct pm_seal seal;
};

struct sheet_seals {
	struct sheet_seal *item;    /* one a site, in the order of the sheet */
	size_t count;
};

/* Build the canonical text of every site from the cells of `sheet` and seal it.
 * Differences in structure go to `trouble`; a seal is made only of what was found
 * under its title. False with a fault when the layout lacks a registered fact, or
 * when rows cannot be told apart by site. */
bool sheet_seals(const struct pm_layout *layout, const struct returned *sheet, struct pm_arena *arena,
                 struct trouble *trouble, struct sheet_seals *seals, struct pm_fault *fault);

#endif
