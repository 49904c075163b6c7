#include <stdlib.h>
#include <string.h>

#include "seamwright/seam.h"

void sw_seam_free(sw_seam *seam)
{
    if (!seam)
        return;
    free(seam->chips);
    free(seam->stations);
    memset(seam, 0, sizeof *seam);
}
