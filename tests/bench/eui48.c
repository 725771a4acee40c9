/* How many addresses a second are read and written; prints the rate alone. */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "portmuster/eui48.h"

int main(void)
{
	static const char *const texts[] = {
		"00-00-5E-00-53-01", "00:00:5e:00:53:02", "0000.5e00.5303", "00005E005304", "0:0:5e:0:53:5",
	};
	enum { COUNT = 5, ROUNDS = 400000 };
	struct timespec a, b;
	unsigned sum = 0;
	clock_gettime(CLOCK_MONOTONIC, &a);
	for (int round = 0; round < ROUNDS; round++)
		for (int i = 0; i < COUNT; i++) {
			struct pm_eui48 address;
			char out[PM_EUI48_TEXT];
			if (pm_eui48_read(texts[i], strlen(texts[i]), &address, NULL, NULL))
				sum += (unsigned char)pm_eui48_text(&address, out)[16];
		}
	clock_gettime(CLOCK_MONOTONIC, &b);
	double seconds = (double)(b.tv_sec - a.tv_sec) + (double)(b.tv_nsec - a.tv_nsec) / 1e9;
	fprintf(stderr, "checksum %u\n", sum);
	printf("%.0f\n", COUNT * (double)ROUNDS / seconds);
	return 0;
}
