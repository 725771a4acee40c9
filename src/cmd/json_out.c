#include "cmd/json_out.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "cmd/cmd.h"

#include "report/json_parts.h"

static void *memory_or_end(size_t size)
{
	static const char said[] = "portmuster: out of memory; the result is not whole\n";
	void *block = malloc(size);
	if (!block) {
		ssize_t ignored = write(STDERR_FILENO, said, sizeof said - 1);
		(void)ignored;
		_exit(EXIT_UNABLE);
	}
	return block;
}

void cmd_json_begin(void)
{
	json_set_alloc_funcs(memory_or_end, free);
}

bool cmd_put_json(json_t *value, size_t indent)
{
	return json_put(stdout, value, indent);
}

json_t *cmd_json_text(const char *bytes, size_t length)
{
	return json_safe(bytes, length);
}
