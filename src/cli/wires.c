#include "cli/wires.h"

#include <errno.h>
#include <unistd.h>

int cli_parent = -1;

void cli_tell(char what)
{
    while (cli_parent >= 0 && write(cli_parent, &what, 1) < 0 && errno == EINTR)
        continue;
}

void cli_begins_writing(void)
{
    cli_tell(CLI_TELLS_WRITING);
}
