#include "walk/answers.h"

#include "store/bind.h"
#include "store/save.h"

#define MOST_BYTES (1u << 20)
#define AT(member) offsetof(struct answer, member)

static const struct store_field answer_fields[] = {
	{ .key = "step", .holds = STORE_TEXT, .need = STORE_REQUIRED, .offset = AT(step), .meaning = "id of the step" },
	{ .key = "say", .holds = STORE_TEXT, .offset = AT(say), .meaning = "the answer" },
	{ .key = "second", .holds = STORE_TEXT, .offset = AT(second), .meaning = "the second reading" },
	{ .key = "note", .holds = STORE_TEXT, .offset = AT(note), .meaning = "reference, reason or note" },
	{ .key = "file", .holds = STORE_TEXT, .offset = AT(file), .meaning = "a console log" },
	{ .key = "sheet", .holds = STORE_FLAG, .offset = AT(sheet), .meaning = "write the registration sheet first" },
	{ .key = "console", .holds = STORE_TEXT, .offset = AT(console), .meaning = "a serial line, or `practice`" },
};

static const struct store_table answer_table = {
	"answer", answer_fields, sizeof answer_fields / sizeof *answer_fields, sizeof(struct answer),
};

static const struct store_field fields[] = {
	{ .key = "format", .holds = STORE_WHOLE, .need = STORE_REQUIRED, .offset = offsetof(struct answers, format),
	  .least = 1, .most = STORE_FORMAT, .meaning = "1" },
	{ .key = "start", .holds = STORE_TIME, .need = STORE_REQUIRED, .offset = offsetof(struct answers, start_text),
	  .also = offsetof(struct answers, start), .meaning = "when the walk begins" },
	{ .key = "pace", .holds = STORE_WHOLE, .need = STORE_REQUIRED, .offset = offsetof(struct answers, pace),
	  .least = 1, .most = 86400, .meaning = "seconds that each answer takes" },
	{ .key = "answers", .holds = STORE_MAPPINGS, .need = STORE_REQUIRED, .offset = offsetof(struct answers, item),
	  .also = offsetof(struct answers, count), .table = &answer_table, .meaning = "the answers, in order" },
};

static const struct store_table table = {
	"answers", fields, sizeof fields / sizeof *fields, sizeof(struct answers),
};

bool answers_load(const char *path, struct answers *answers, struct pm_fault *fault)
{
	struct store_tree tree;
	struct pm_stray_keys strays;
	char *text;
	size_t length;
	*answers = (struct answers){ 0 };
	pm_arena_init(&answers->arena);
	if (store_read_file(path, MOST_BYTES, &answers->arena, &text, &length, fault) &&
	    store_tree_read(text, length, path, &answers->arena, &tree, fault) &&
	    store_bind(&tree, &table, answers, &strays, &answers->arena, fault) && store_no_strays(&strays, path, fault)) {
		if (answers->start.known)
			return true;
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ path, answers->start_text.line, answers->start_text.column },
		        "start is no RFC 3339 time");
	}
	answers_free(answers);
	return false;
}

void answers_free(struct answers *answers)
{
	pm_arena_free(&answers->arena);
}
