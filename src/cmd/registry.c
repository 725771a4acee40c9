/* registry: which registry index is in use, and making one. */
#include <string.h>

#include "cmd/cmd.h"
#include "cmd/json_out.h"
#include "portmuster/registry.h"
#include "portmuster/text.h"
#include "store/find.h"
#include "store/map.h"
#include "store/registry_build.h"

#define SHOWN_MOST 1024

static const char *visible(const char *string, char out[static SHOWN_MOST])
{
	struct pm_text text;
	pm_text_fixed(&text, out, SHOWN_MOST);
	pm_text_visible(&text, string, strlen(string));
	return out;
}

static void put_text(const char *path, const struct pm_registry *registry)
{
	char shown[SHOWN_MOST];
	unsigned long total = 0;
	printf("index     %s\n", visible(path, shown));
	printf("origin    %s\n", visible(registry->origin, shown));
	printf("dated     %s\n", visible(registry->dated, shown));
	for (unsigned r = 0; r < PM_REGISTERS; r++) {
		printf("%-9s %6lu rows\n", pm_register_name((enum pm_register)r), (unsigned long)registry->rows[r]);
		total += registry->rows[r];
	}
	printf("together  %6lu rows\n", total);
	printf("prefixes  %lu of 24 bits, %lu of 28, %lu of 36\n",
	       (unsigned long)registry->part[PM_BLOCK_24].count,
	       (unsigned long)registry->part[PM_BLOCK_28].count,
	       (unsigned long)registry->part[PM_BLOCK_36].count);
}

static bool put_json(const char *path, const struct pm_registry *registry)
{
	json_t *rows = json_object();
	for (unsigned r = 0; r < PM_REGISTERS; r++)
		json_object_set_new(rows, pm_register_name((enum pm_register)r),
		                    json_integer((json_int_t)registry->rows[r]));
	json_t *all = json_pack("{s:o, s:o, s:o, s:o, s:{s:I, s:I, s:I}}",
	                        "index", cmd_json_text(path, strlen(path)),
	                        "origin", cmd_json_text(registry->origin, strlen(registry->origin)),
	                        "dated", cmd_json_text(registry->dated, strlen(registry->dated)),
	                        "rows", rows, "prefixes",
	                        "24", (json_int_t)registry->part[PM_BLOCK_24].count,
	                        "28", (json_int_t)registry->part[PM_BLOCK_28].count,
	                        "36", (json_int_t)registry->part[PM_BLOCK_36].count);
	if (!cmd_put_json(all, 2))
		return false;
	putchar('\n');
	return true;
}

static bool show(const char *path, bool json, struct pm_fault *fault)
{
	char found[4096];
	struct store_map map;
	if (!path && store_find_registry(found, sizeof found))
		path = found;
	if (!store_map_open(&map, path, fault))
		return false;
	bool good = pm_registry_check(&map.registry, fault);
	if (good && !json)
		put_text(path, &map.registry);
	else if (good && !put_json(path, &map.registry))
		good = pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	store_map_close(&map);
	return good;
}

static int run_registry(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "json", false, 'j' }, { "registry", true, 'r' }, { "build", true, 'b' },
		{ "from", true, 'f' }, { NULL, false, 0 },
	};
	struct pm_fault fault = { 0 };
	char *value, *path = NULL, *target = NULL, *folder = NULL;
	bool json = false;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1)
		switch (letter) {
		case 'j': json = true; break;
		case 'r': path = value; break;
		case 'b': target = value; break;
		case 'f': folder = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	if (cmd_operands() < argc)
		return cmd_usage(cmd, "takes no operand");
	if (!target != !folder)
		return cmd_usage(cmd, "--build FILE and --from FOLDER go together");
	if (target && path)
		return cmd_usage(cmd, "--build and --registry do not go together");
	if (target && !store_registry_build(folder, target, &fault))
		return cmd_fault(&fault);
	if (!show(target ? target : path, json, &fault))
		return cmd_fault(&fault);
	return EXIT_CLEAR;
}

const struct cmd cmd_registry = {
	.name = "registry",
	.usage = "[--json] [--registry FILE] [--build FILE --from FOLDER]",
	.summary = "which registry index is in use; make one from newer files",
	.help = "  --json             one JSON object instead of text\n"
	        "  --registry FILE    describe this index\n"
	        "  --build FILE       write an index to FILE and describe it ...\n"
	        "  --from FOLDER      ... from oui.csv, mam.csv, oui36.csv and iab.csv in FOLDER\n",
	.run = run_registry,
};
