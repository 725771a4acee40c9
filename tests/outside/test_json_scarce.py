"""JSON with the Nth allocation of the whole process failing, for every N: either the whole result, or none is
believed: exit 2 and a word on standard error. The shim that fails them is loaded before the C library's own."""
import os
import shlex
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
CC = shlex.split(os.environ.get("CC") or "cc")
SHIM = r"""
#include <stdlib.h>
extern void *__libc_malloc(size_t), *__libc_calloc(size_t, size_t), *__libc_realloc(void *, size_t);
static long asked, wanted = -1;
static int refused(void)
{
	if (wanted < 0) {
		const char *at = getenv("FAIL_AT");
		wanted = at ? atol(at) : 0;
	}
	return ++asked == wanted;
}
void *malloc(size_t size) { return refused() ? NULL : __libc_malloc(size); }
void *calloc(size_t count, size_t size) { return refused() ? NULL : __libc_calloc(count, size); }
void *realloc(void *old, size_t size) { return refused() ? NULL : __libc_realloc(old, size); }
"""
COMMANDS = {
    "lookup": ["lookup", "--json", "00-00-5E-00-53-01", "0:0:5e:0:53:1", "junk", "00-00-5E-00-53-0O"],
    "read": ["read", "--json", os.path.join(ROOT, "data", "demo", "first-listing.log")],
    "registry": ["registry", "--json"],
}
failed = False
with open(PROGRAM, "rb") as file:
    if b"__asan_init" in file.read():
        print("# figure JSON with failing allocations: not tried, this build has an allocator of its own")
        print("ok nothing to try in this build")
        sys.exit(0)
with tempfile.TemporaryDirectory() as folder:
    shim = os.path.join(folder, "shim.so")
    subprocess.run(CC + ["-shared", "-fPIC", "-x", "c", "-", "-o", shim], input=SHIM.encode(), check=True)
    for name, command in COMMANDS.items():
        whole = subprocess.run([PROGRAM] + command, capture_output=True)
        wrong, unable, number = [], 0, 0
        while True:
            number += 1
            done = subprocess.run([PROGRAM] + command, capture_output=True, env=dict(os.environ, LD_PRELOAD=shim, FAIL_AT=str(number)))
            if done.returncode == 2:
                unable += 1
                if not done.stderr.strip():
                    wrong.append((number, "nothing is said"))
            elif (done.returncode, done.stdout) != (whole.returncode, whole.stdout):
                wrong.append((number, done.returncode, done.stdout[-200:], done.stderr[-200:]))
            elif number > 40 and not unable or number > 400:
                break
        print("%s %s: whole or refused (%d refused)" % ("not ok" if wrong or not unable else "ok", name, unable))
        for each in wrong[:5]:
            print("# %r" % (each,))
        failed = failed or bool(wrong) or not unable
sys.exit(failed)
