/* The only thing that the board ever writes. */
#include <string.h>

#include "board/drive.h"
#include "portmuster/text.h"
#include "store/lock.h"
#include "store/save.h"

static const struct pm_gate_line *find_line(const struct gather_detail *fresh, const struct board_picked *picked)
{
	const struct pm_gates *gates = &fresh->result.gates;
	for (size_t i = 0; i < gates->count; i++) {
		const struct pm_gate_line *line = &gates->line[i];
		if (line->closing == picked->closing && pm_same(line->need->condition.text, picked->condition) &&
		    pm_same(fresh->the_case.plan->phases[line->phase].id.text, picked->phase))
			return line;
	}
	return NULL;
}

static bool may(const struct gather_detail *fresh, const char *site, const struct board_picked *picked,
                struct pm_fault *fault)
{
	struct pm_place place = { .file = fresh->job.path };
	const struct pm_gate_line *line = find_line(fresh, picked);
	if (!pm_same(fresh->job.job.code.text, site)) {
		pm_fail(fault, PM_FAULT_CHANGED, place, "the file is now another site's: nothing was waived");
		return pm_fail_remedy(fault, "go back to the board, which reads it anew");
	}
	if (!fresh->job.from_disk) {
		pm_fail(fault, PM_FAULT_USAGE, place, "this is the file as it was at a revision");
		return pm_fail_remedy(fault, "open the folder itself to waive something");
	}
	if (line && line->met)
		return pm_fail(fault, PM_FAULT_VALUE, place, "that condition has been met meanwhile: nothing is left to waive");
	if (!line || !board_may_waive(line))
		return pm_fail(fault, PM_FAULT_VALUE, place, "the plan does not let a lead waive that condition");
	return true;
}

static bool append(struct gather_detail *fresh, const char *site, const struct board_picked *picked, const char *by,
                   const char *reason, struct pm_when now, struct pm_fault *fault)
{
	char at[PM_WHEN_TEXT];
	struct pm_waiver waiver = {
		.phase.text = picked->phase, .gate.text = picked->closing ? "close" : "open",
		.condition.text = picked->condition, .by.text = by, .reason.text = reason,
		.at.text = pm_when_write(now, at), .when = now,
	};
	return may(fresh, site, picked, fault) && store_job_add_waiver(&fresh->job, &waiver, fault) &&
	       store_job_save(&fresh->job, fault);
}

bool board_waive(const struct board_model *model, const struct board_picked *picked, const char *by,
                 const char *reason, struct pm_fault *fault)
{
	struct store_lock lock;
	struct gather_detail fresh;
	const char *site = model->opened ? model->detail.job.job.code.text : NULL;
	if (!model->opened || model->reading) {
		pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ 0 }, "the files are being read again");
		return pm_fail_remedy(fault, "press Enter again");
	}
	if (!model->detail.job.from_disk)
		return may(&model->detail, site, picked, fault);
	/* the lock comes first: what is read under it cannot be half of two writers' work */
	if (!store_lock_take(&lock, model->detail.job.path, fault))
		return false;
	bool good = gather_open(model->gather, model->site, &fresh, fault);
	if (good) {
		good = append(&fresh, site, picked, by, reason, model->now, fault);
		gather_close(&fresh);
	}
	store_lock_drop(&lock);
	return good;
}
