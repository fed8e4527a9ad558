#include <config.h>

#include "own_folder.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int enter_folder(void **state)
{
    char *name = strdup("/tmp/plyecho-test.XXXXXX");
    *state = name;
    return mkdtemp(name) != NULL && chdir(name) == 0 ? 0 : -1;
}

int leave_folder(void **state)
{
    char command[64];
    snprintf(command, sizeof command, "rm -rf %s", (char *)*state);
    int failed = chdir("/") != 0 || system(command) != 0;
    free(*state);
    return failed ? -1 : 0;
}
