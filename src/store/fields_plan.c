#include "store/fields.h"

#include "portmuster/plan.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define IN(type, member) .offset = offsetof(struct type, member), .also = STORE_NOWHERE
#define LIST(type, member, number) \
	.offset = offsetof(struct type, member), .also = offsetof(struct type, number)

static const char *ask_word(unsigned at)
{
	return pm_ask_word((enum pm_ask)at);
}

static void set_ask(void *member, unsigned at)
{
	*(enum pm_ask *)member = (enum pm_ask)at;
}

static unsigned get_ask(const void *member)
{
	return *(const enum pm_ask *)member;
}

static const struct store_choice asks = { PM_ASKS, ask_word, set_ask, get_ask };

static const struct store_field only_if_fields[] = {
	{ "step", STORE_TEXT, STORE_REQUIRED, IN(pm_step, only_step), .meaning = "id of another step" },
	{ "answer", STORE_TEXT, STORE_REQUIRED, IN(pm_step, only_answer), .meaning = "the answer it must have had" },
};

static const struct store_table only_if_table = { "only-if", only_if_fields, COUNT(only_if_fields), 0 };

static const struct store_field step_fields[] = {
	{ "step", STORE_TEXT, STORE_REQUIRED, IN(pm_step, id), .meaning = "its id, unique in the plan" },
	{ "title", STORE_TEXT, STORE_REQUIRED, IN(pm_step, title), .meaning = "what it is, a few words" },
	{ "do", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, text), .meaning = "what to do, may take several lines" },
	{ "caution", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, caution), .meaning = "what can hurt, and who governs" },
	{ "critical", STORE_FLAG, STORE_OPTIONAL, IN(pm_step, critical),
	  .meaning = "shown as a killer item; never skippable" },
	{ "skippable", STORE_FLAG, STORE_OPTIONAL, IN(pm_step, skippable),
	  .meaning = "may be said not to apply, with a reason" },
	{ "ask", STORE_CHOICE, STORE_REQUIRED, IN(pm_step, ask), .choice = &asks, .meaning = "what the step asks for" },
	{ "fact", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, fact),
	  .meaning = "what a serial or code step reads, such as `router/serial`" },
	{ "proceed", STORE_TEXTS, STORE_OPTIONAL, IN(pm_step, proceed), .meaning = "answers that let the job go on" },
	{ "halt", STORE_TEXTS, STORE_OPTIONAL, IN(pm_step, halt), .meaning = "answers that stop it" },
	{ "form", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, form), .accepts = "a form, see below",
	  .meaning = "what a code must look like" },
	{ "unit", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, unit), .meaning = "unit of a number" },
	{ "least", STORE_DECIMAL, STORE_OPTIONAL, IN(pm_step, least), .meaning = "the least that is in order" },
	{ "most", STORE_DECIMAL, STORE_OPTIONAL, IN(pm_step, most), .meaning = "the most that is in order" },
	{ "limit-source", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, limit_source), .meaning = "where the limits come from" },
	{ "wait", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, wait),
	  .accepts = "`boot`, or the least and the most seconds as in `300 420`",
	  .meaning = "how long a wait takes; `boot` is the gear's time" },
	{ "least-minutes", STORE_WHOLE, STORE_OPTIONAL, IN(pm_step, least_minutes), .least = 0, .most = 100000,
	  .meaning = "the least length of a window; a shorter one is doubted" },
	{ "note", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, note),
	  .meaning = "what a note must say, which every answer that lets the job go on then needs" },
	{ "words", STORE_FLAG, STORE_OPTIONAL, IN(pm_step, words),
	  .meaning = "a text without a letter, such as a telephone number, is refused" },
	{ "contact", STORE_FLAG, STORE_OPTIONAL, IN(pm_step, contact),
	  .meaning = "its text says whom to ring when a step stops the job" },
	{ "sheet", STORE_FLAG, STORE_OPTIONAL, IN(pm_step, sheet),
	  .meaning = "an answer that lets the job go on is doubted while no sheet lies beside the job file" },
	{ "show", STORE_TEXTS, STORE_OPTIONAL, IN(pm_step, show), .accepts = "facts, and `seal`",
	  .meaning = "what the screen shows beside the question" },
	{ "if-stopped", STORE_TEXT, STORE_OPTIONAL, IN(pm_step, stopped),
	  .meaning = "what to do when an answer stopped the job" },
	{ "only-if", STORE_MAPPING, STORE_OPTIONAL, .offset = 0, .also = STORE_NOWHERE, .table = &only_if_table,
	  .meaning = "the step applies only when another was answered so" },
};

static const struct store_table step_table = { "step", step_fields, COUNT(step_fields), sizeof(struct pm_step) };

static const struct store_field need_fields[] = {
	{ "needs", STORE_TEXT, STORE_REQUIRED, IN(pm_need, condition),
	  .accepts = "a condition, with its argument after a blank", .meaning = "what must hold" },
	{ "waiver", STORE_FLAG, STORE_OPTIONAL, IN(pm_need, waiver), .meaning = "a lead may waive it" },
};

static const struct store_table need_table = { "condition", need_fields, COUNT(need_fields), sizeof(struct pm_need) };

static const struct store_field phase_fields[] = {
	{ "phase", STORE_TEXT, STORE_REQUIRED, IN(pm_phase, id), .meaning = "its id, unique in the plan" },
	{ "title", STORE_TEXT, STORE_REQUIRED, IN(pm_phase, title), .meaning = "its name for people" },
	{ "purpose", STORE_TEXT, STORE_OPTIONAL, IN(pm_phase, purpose), .meaning = "what it is for" },
	{ "who", STORE_TEXT, STORE_OPTIONAL, IN(pm_phase, who),
	  .meaning = "technician, lead, desk or operations centre" },
	{ "minutes", STORE_WHOLE, STORE_OPTIONAL, IN(pm_phase, minutes), .least = 0, .most = 100000,
	  .meaning = "how long it may take; 0 when there is no estimate" },
	{ "open", STORE_MAPPINGS, STORE_OPTIONAL, LIST(pm_phase, open, open_count), .table = &need_table,
	  .meaning = "conditions of the opening gate" },
	{ "close", STORE_MAPPINGS, STORE_OPTIONAL, LIST(pm_phase, close, close_count), .table = &need_table,
	  .meaning = "conditions of the closing gate" },
	{ "steps", STORE_MAPPINGS, STORE_REQUIRED, LIST(pm_phase, steps, step_count), .table = &step_table,
	  .meaning = "its steps, in order" },
};

static const struct store_table phase_table = { "phase", phase_fields, COUNT(phase_fields), sizeof(struct pm_phase) };

static const struct store_field kit_fields[] = {
	{ "item", STORE_TEXT, STORE_REQUIRED, IN(pm_kit_item, id), .meaning = "its id, unique in the kit" },
	{ "name", STORE_TEXT, STORE_REQUIRED, IN(pm_kit_item, name), .meaning = "what it is called" },
	{ "use", STORE_TEXT, STORE_OPTIONAL, IN(pm_kit_item, use), .meaning = "what it is for" },
	{ "need", STORE_WHOLE, STORE_REQUIRED, IN(pm_kit_item, need), .least = 0, .most = 10000,
	  .meaning = "how many are needed" },
};

static const struct store_table kit_table = { "kit item", kit_fields, COUNT(kit_fields), sizeof(struct pm_kit_item) };

static const struct store_field plan_fields[] = {
	{ "format", STORE_WHOLE, STORE_REQUIRED, IN(pm_plan, format), .least = 1, .most = STORE_FORMAT,
	  .meaning = "number of this format; a newer one is refused" },
	{ "plan", STORE_TEXT, STORE_REQUIRED, IN(pm_plan, id), .meaning = "its id, the file's name without `.yaml`" },
	{ "title", STORE_TEXT, STORE_REQUIRED, IN(pm_plan, title), .meaning = "its name for people" },
	{ "kit", STORE_MAPPINGS, STORE_OPTIONAL, LIST(pm_plan, kit, kit_count), .table = &kit_table,
	  .meaning = "what must be at hand" },
	{ "phases", STORE_MAPPINGS, STORE_REQUIRED, LIST(pm_plan, phases, phase_count), .table = &phase_table,
	  .meaning = "the phases, in order" },
};

const struct store_table store_plan_table = { "plan", plan_fields, COUNT(plan_fields), sizeof(struct pm_plan) };
