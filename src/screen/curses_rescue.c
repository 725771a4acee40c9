/* The last thing that is done when a signal ends the program. */
#include "screen/curses_rescue.h"

#include <errno.h>
#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

#define STACK_SIZE 65536

/* All that the handler can see of the world; changed while signals are blocked. */
static struct {
	rescue_work *work;
	const void *of;
} places[RESCUE_PLACES];
static pid_t owner;
static bool armed, taken[NSIG];
static struct sigaction before[NSIG];
static char stack[STACK_SIZE];   /* for a fault that comes of having no stack left */

static void on_end(int number)
{
	int saved = errno;
	for (int i = 0; i < RESCUE_PLACES; i++)
		if (places[i].work && getpid() == owner)
			places[i].work(places[i].of);
	/* it waits until this handler is left, and then does what it did before */
	sigaction(number, &before[number], NULL);
	raise(number);
	errno = saved;
}

static bool is_fault(int number)
{
	static const int faults[] = { SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGTRAP, SIGSYS };
	for (size_t i = 0; i < sizeof faults / sizeof *faults; i++)
		if (faults[i] == number)
			return true;
	return false;
}

static bool ends_a_program(int number)
{
	static const int others[] = { SIGCHLD, SIGCONT, SIGURG, SIGWINCH, SIGSTOP, SIGTSTP, SIGTTIN, SIGTTOU, SIGKILL };
	for (size_t i = 0; i < sizeof others / sizeof *others; i++)
		if (others[i] == number)
			return false;
	return true;
}

static void arm(void)
{
	stack_t now, mine = { .ss_sp = stack, .ss_size = sizeof stack };
	struct sigaction action;
	if (sigaltstack(NULL, &now) == 0 && (now.ss_flags & SS_DISABLE))
		sigaltstack(&mine, NULL);
	memset(&action, 0, sizeof action);
	action.sa_handler = on_end;
	action.sa_flags = SA_ONSTACK;
	sigfillset(&action.sa_mask);
	for (int number = 1; number < NSIG; number++) {
		taken[number] = false;
		if (!ends_a_program(number) || sigaction(number, NULL, &before[number]) != 0)
			continue;
		bool free = before[number].sa_handler == SIG_DFL;
		bool answered = !free && before[number].sa_handler != SIG_IGN;
		if (free || (answered && is_fault(number)))
			taken[number] = sigaction(number, &action, NULL) == 0;
	}
	owner = getpid();
	armed = true;
}

static void disarm(void)
{
	struct sigaction now;
	for (int number = 1; number < NSIG; number++)
		if (taken[number] && sigaction(number, NULL, &now) == 0 && now.sa_handler == on_end)
			sigaction(number, &before[number], NULL);
	armed = false;
}

static void put(enum rescue_place place, rescue_work *work, const void *of)
{
	sigset_t all, found;
	bool needed = false;
	sigfillset(&all);
	sigprocmask(SIG_BLOCK, &all, &found);
	places[place].work = work;
	places[place].of = of;
	for (int i = 0; i < RESCUE_PLACES; i++)
		needed = needed || places[i].work;
	if (needed && !armed)
		arm();
	else if (!needed && armed)
		disarm();
	sigprocmask(SIG_SETMASK, &found, NULL);
}

void rescue_set(enum rescue_place place, rescue_work *work, const void *of)
{
	put(place, work, of);
}

void rescue_clear(enum rescue_place place)
{
	put(place, NULL, NULL);
}
