/* path.h - names of files: in a folder, beside a file, and all that a folder holds. */
#ifndef SW_FILES_PATH_H
#define SW_FILES_PATH_H

#include <stdbool.h>
#include <stddef.h>

/* folder/name, for free(); NULL when memory is out. */
char *sw_path_in(const char *folder, const char *name);

/* Where the last name begins: 0 in "card.pdf", 4 in "out/card.pdf" and "out/dir/". */
size_t sw_path_name_at(const char *path);

/* The folder that holds it: "out" of "out/card.pdf", "." of "card.pdf". For free(); NULL when memory is out. */
char *sw_path_folder(const char *path);

/* A name in the same folder that no other run uses, so that a rename suffices. For free(); NULL when memory is out. */
char *sw_path_beside(const char *path, int number);
/* May sw_path_beside have made this name for path, in any run? Names of more than NAME_KEPT bytes look alike. */
bool sw_path_is_beside(const char *path, const char *name);

/* Shows every entry but "." and ".." until one answers false. */
typedef enum sw_walk { SW_WALK_ALL, SW_WALK_ENDED, SW_WALK_UNREADABLE } sw_walk;
sw_walk sw_path_each(const char *folder, bool (*show)(const char *path, const char *name, void *context),
                     void *context);

#endif
