#include "cli/load.h"

#include <dlfcn.h>
#include <string.h>

#include "cli/say.h"

cli_work *cli_load_commands(void)
{
    cli_work *work = NULL;
    void *library = dlopen(SW_COMMANDS, RTLD_LAZY); /* stays open until the process ends */
    void *entry = library ? dlsym(library, CLI_ENTRY) : NULL;
    if (entry)
        memcpy(&work, &entry, sizeof work); /* POSIX promises that this is how a function's address comes */
    else
        cli_sayf("seamwright",
                 "its commands cannot be loaded (%s); nothing was written; close other programs and try "
                 "again, or install it anew",
                 dlerror());
    return work;
}
