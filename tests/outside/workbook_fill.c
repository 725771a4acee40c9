/* A driver for test_workbook.py: workbook_fill IN OUT. Each line of standard input is
 * "put PAGE PLACE HEX" or "get PAGE PLACE", the page's name in hex too. Prints a line
 * each: "ok", "KIND COVERED HEX" or "refused WHY". Then saves to OUT, unless that is
 * "-", and says "saved". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "sheet/workbook.h"

static bool decode(const char *hex, char *out, size_t room)
{
	size_t at = 0;
	for (; hex[0] && hex[1] && at + 1 < room; hex += 2) {
		int high = pm_hex_value(hex[0]), low = pm_hex_value(hex[1]);
		if (high < 0 || low < 0)
			return false;
		out[at++] = (char)(high * 16 + low);
	}
	out[at] = '\0';
	return !hex[0];
}

static const char *word_of(enum workbook_kind kind)
{
	switch (kind) {
	case WORKBOOK_EMPTY: return "empty";
	case WORKBOOK_TEXT: return "text";
	case WORKBOOK_NUMBER: return "number";
	case WORKBOOK_DATE: return "date";
	case WORKBOOK_TRUTH: return "truth";
	case WORKBOOK_ERROR: return "error";
	case WORKBOOK_FORMULA: return "formula";
	}
	return "?";
}

static void refused(const struct pm_fault *fault)
{
	char line[1200];
	pm_fault_line(fault, line, sizeof line);
	printf("refused %s\n", line);
}

static void get(struct workbook *workbook, size_t page, uint32_t row, uint32_t column)
{
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	struct workbook_cell cell;
	pm_arena_init(&arena);
	if (workbook_get(workbook, page, row, column, &arena, &cell, &fault)) {
		printf("%s %d ", word_of(cell.kind), cell.covered);
		for (const char *at = cell.text; *at; at++)
			printf("%02x", (unsigned)(unsigned char)*at);
		putchar('\n');
	} else {
		refused(&fault);
	}
	pm_arena_free(&arena);
}

int main(int count, char **words)
{
	static char line[300000], page_name[1000], text[140000];
	struct pm_fault fault = { 0 };
	if (count != 3)
		return 2;
	struct workbook *workbook = workbook_open(words[1], &fault);
	if (!workbook) {
		refused(&fault);
		return 0;
	}
	while (fgets(line, sizeof line, stdin)) {
		char *part[4] = { "", "", "", "" };
		uint32_t row, column;
		line[strcspn(line, "\n")] = '\0';
		for (size_t i = 0; i < 4; i++) {
			part[i] = strtok(i ? NULL : line, " ");
			if (!part[i])
				part[i] = "";
		}
		if (!decode(part[1], page_name, sizeof page_name) || !workbook_place(part[2], &row, &column) || !decode(part[3], text, sizeof text))
			return 2;
		size_t page = workbook_page_find(workbook, page_name);
		if (!strcmp(part[0], "get"))
			get(workbook, page, row, column);
		else if (workbook_put(workbook, page, row, column, text, &fault))
			puts("ok");
		else
			refused(&fault);
	}
	if (strcmp(words[2], "-")) {
		if (workbook_save(workbook, words[2], &fault))
			puts("saved");
		else
			refused(&fault);
	}
	workbook_close(workbook);
	return 0;
}
