/* luma.c - the least that any inspection must do: decodes a JPEG's luma alone, with the JPEG library, and nothing else.
 */
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

int main(int argc, char **argv)
{
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    FILE *file = argc == 2 ? fopen(argv[1], "rb") : NULL;
    if (!file)
        return 2;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_GRAYSCALE;
    jpeg_start_decompress(&jpeg);
    size_t width = jpeg.output_width;
    JSAMPLE *luma = malloc(width * jpeg.output_height);
    while (luma && jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = luma + width * jpeg.output_scanline;
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    int status = luma ? 0 : 2;
    printf("%u %u\n", jpeg.output_width, jpeg.output_height);
    jpeg_abort_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    free(luma);
    fclose(file);
    return status;
}
