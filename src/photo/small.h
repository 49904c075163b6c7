/* small.h - the reduced picture in which squares and tiles are looked for. */
#ifndef SW_PHOTO_SMALL_H
#define SW_PHOTO_SMALL_H

#include <stdint.h>

#include "seamwright/photo.h"

/* Mean stored luma of factor x factor blocks, 0 to 65535 whatever the photo's bits. Block (x, y) covers the photo's pixels
 * from factor x to factor x + factor - 1, so small coordinate X lies at photo coordinate (X + 1/2) factor - 1/2.
 * Free with sw_small_free. */
typedef struct sw_small {
    int factor, width, height;
    uint16_t *values;
} sw_small;

sw_status sw_small_make(const sw_photo *photo, sw_small *small, sw_error *err);
void sw_small_free(sw_small *small);

static inline sw_point sw_small_to_photo(const sw_small *small, sw_point at)
{
    return (sw_point){(at.x + 0.5) * small->factor - 0.5, (at.y + 0.5) * small->factor - 0.5};
}

#endif
