/* The options of a fleet: loaded and never changed; a folder may do without. */
#include <string.h>
#include <sys/stat.h>

#include "store/bind.h"
#include "store/document.h"
#include "store/save.h"

static bool load(const char *path, struct store_fleet *fleet, struct pm_fault *fault)
{
	struct store_tree tree;
	struct pm_stray_keys strays;
	const char *file = fleet->options.file = pm_arena_copy(&fleet->arena, path, strlen(path));
	if (!file)
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
	return store_read_file(path, STORE_MOST_BYTES, &fleet->arena, &fleet->source.text, &fleet->source.length, fault) &&
	       store_tree_read(fleet->source.text, fleet->source.length, file, &fleet->arena, &tree, fault) &&
	       store_bind(&tree, &store_fleet_table, &fleet->options, &strays, &fleet->arena, fault) &&
	       store_no_strays(&strays, file, fault) &&
	       pm_fleet_options_settle(&fleet->options, fault);
}

bool store_fleet_load(const char *path, struct store_fleet *fleet, struct pm_fault *fault)
{
	struct pm_fault own = { 0 };
	*fleet = (struct store_fleet){ .present = true };
	pm_fleet_defaults(&fleet->options);
	pm_arena_init(&fleet->arena);
	if (load(path, fleet, &own))
		return true;
	store_fleet_free(fleet);
	/* a link that leads nowhere is a file somebody meant to be there */
	struct stat link;
	if (own.kind == PM_FAULT_MISSING && lstat(path, &link) != 0) {
		pm_fleet_defaults(&fleet->options);
		return true;
	}
	if (fault)
		*fault = own;
	return false;
}

void store_fleet_free(struct store_fleet *fleet)
{
	pm_arena_free(&fleet->arena);
	*fleet = (struct store_fleet){ 0 };
}
