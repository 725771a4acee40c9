#include "report/html.h"

#include <string.h>

void html_put(struct pm_text *out, const char *string)
{
	static const struct { char character; const char *entity; } entities[] = {
		{ '&', "&amp;" }, { '<', "&lt;" }, { '>', "&gt;" }, { '"', "&quot;" }, { '\'', "&#39;" },
	};
	size_t left = string ? strlen(string) : 0;
	while (left) {
		size_t plain = strcspn(string, "&<>\"'");
		pm_text_visible(out, string, plain);
		string += plain;
		left -= plain;
		for (size_t i = 0; left && i < sizeof entities / sizeof *entities; i++)
			if (*string == entities[i].character) {
				pm_text_str(out, entities[i].entity);
				string++;
				left--;
				break;
			}
	}
}
