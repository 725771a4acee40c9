/* registry_build.h - making the registry index from the IEEE's CSV files. */
#ifndef STORE_REGISTRY_BUILD_H
#define STORE_REGISTRY_BUILD_H

#include "portmuster/fault.h"

/* Read oui.csv, mam.csv, oui36.csv and iab.csv from `folder` (a missing one of
 * the last three is a fault too) and write the index to `path` atomically. */
bool store_registry_build(const char *folder, const char *path, struct pm_fault *fault);

#endif
