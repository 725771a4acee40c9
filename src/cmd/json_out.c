#include "cmd/json_out.h"

#include <stdio.h>

#include "report/json_parts.h"

bool cmd_put_json(json_t *value, size_t indent)
{
	return json_put(stdout, value, indent);
}

json_t *cmd_json_text(const char *bytes, size_t length)
{
	return json_safe(bytes, length);
}
