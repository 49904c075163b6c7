#include "report/folder/pictures.h"

#include <stdlib.h>

#include "files/path.h"

sw_status sw_page_with_pictures(const sw_page *page, const char *folder, const char *before_folder, const char *path,
                                sw_error *err)
{
    sw_page with = *page;
    char *table = folder ? sw_path_in(folder, SW_TABLE_PICTURE) : NULL;
    char *seams = folder ? sw_path_in(folder, SW_SEAMS_PICTURE) : NULL;
    char *before = before_folder ? sw_path_in(before_folder, SW_SEAMS_PICTURE) : NULL;
    bool lost = (folder && (!table || !seams)) || (before_folder && !before);
    with.table_picture = table;
    with.seams_picture = seams;
    with.before_seams_picture = before;
    sw_status status =
        lost ? sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to write it", path) : sw_report_page(&with, path, err);
    free(table);
    free(seams);
    free(before);
    return status;
}
