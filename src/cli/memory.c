/* memory.c - an allocation that fails ends the child at once, whoever asked.
 *
 * Not every library that the program uses passes a failure on: fontconfig falls back on another font or asks again for
 * ever, cairo leaves text out, jansson calls the file damaged. So in the child malloc and its kin, for all libraries,
 * never return nothing; the parent says why and ends with 2. Outside the child, and in the library for others, failures
 * are returned. Sizes that a file makes up, and pixels (posix_memalign), are returned to those who check them.
 *
 * Left out where sanitizers watch: they bring an allocator of their own. */
#include "cli/wires.h"

#ifndef SW_WATCHED
#include <dlfcn.h>
#include <stdint.h>
#include <stdlib.h>

/* An allocation above this is a picture's or a mistake of a file, and everyone checks it: bytes. */
static const size_t CHECKED = (size_t)1 << 26;

SW_API void *malloc(size_t size);
SW_API void *calloc(size_t count, size_t size);
SW_API void *realloc(void *block, size_t size);

/* The next in the order of libraries, not glibc's by name: a debugging one may be loaded before it. */
#define NEXT(name)                                                                                                     \
    static __typeof__(&name) found;                                                                                    \
    if (!found)                                                                                                        \
    found = (__typeof__(&name))dlsym(RTLD_NEXT, #name)

static void *given(void *block, size_t size)
{
    if (!block && size > 0 && size <= CHECKED && cli_parent >= 0) {
        cli_tell(CLI_TELLS_MEMORY);
        abort();
    }
    return block;
}

void *malloc(size_t size)
{
    NEXT(malloc);
    return given(found(size), size);
}

void *calloc(size_t count, size_t size)
{
    NEXT(calloc);
    size_t bytes = 0;
    return given(found(count, size), __builtin_mul_overflow(count, size, &bytes) ? SIZE_MAX : bytes);
}

void *realloc(void *block, size_t size)
{
    NEXT(realloc);
    return given(found(block, size), size);
}
#endif
