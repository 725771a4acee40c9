/* Any bytes as a sheet that came back: whatever verification lets pass has the
 * seal of the job. */
#include <stdint.h>
#include <stdlib.h>

#include "sheet/sheet_seal.h"
#include "sheet/verify.h"
#include "sheet_fixture.h"

static void demand(bool holds)
{
	if (!holds)
		abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct sheet_fixture f;
	static struct pm_seal right;
	struct pm_arena arena;
	struct returned sheet;
	struct trouble trouble, ignored;
	struct sheet_seals seals;
	struct pm_fault fault = { 0 };
	if (!f.grid.layout) {
		sheet_fixture_init(&f);
		sheet_fixture_grid(&f, GRID_CSV);
		demand(pm_seal_job(&f.core.job, &f.core.gear, &f.arena, &right));
	}
	pm_arena_init(&arena);
	trouble_init(&trouble, &arena);
	trouble_init(&ignored, &arena);
	if (!returned_parse((const char *)data, size, "back.csv", &f.layout, &arena, &sheet, &fault)) {
		demand(fault.message[0]);
	} else {
		demand(verify_sheet(&f.grid, &sheet, &arena, &trouble));
		demand(sheet_seals(&f.layout, &sheet, &arena, &ignored, &seals, &fault) || fault.message[0]);
		for (size_t i = 0; i < trouble.list.count; i++)
			demand(trouble.list.item[i].message && trouble.list.item[i].remedy && trouble.detail[i].cause);
		if (pm_findings_count(&trouble.list, PM_STOP) == 0)
			demand(seals.count == 1 && pm_same(seals.item[0].seal.sha256, right.sha256));
	}
	pm_arena_free(&arena);
	return 0;
}
