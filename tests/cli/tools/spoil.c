/* spoil - makes bad photos from a good one, for the tests: spoil IN.jpg OUT.jpg WHAT NUMBER... [WHAT NUMBER...]
 *
 *   crop X Y WIDTH HEIGHT    what is left is that part
 *   cover X Y WIDTH HEIGHT   lays a patch over it, of the colour just outside its top left corner
 *   blur RADIUS              three boxes of 2 RADIUS + 1 px: close to a Gaussian of 1.7 RADIUS
 *   shrink N                 means of N x N pixels
 *   claim WIDTH HEIGHT       (alone) the file as it is, but its header says it is so large */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

typedef struct picture {
    int width, height;
    unsigned char *rgb;
} picture;

static void give_up(const char *what, const char *name)
{
    fprintf(stderr, "spoil: %s: %s\n", name, what);
    exit(2);
}

static void *room(size_t size)
{
    void *p = malloc(size ? size : 1);
    if (!p)
        give_up("out of memory", "picture");
    return p;
}

static unsigned char *at(const picture *p, int x, int y)
{
    return p->rgb + ((size_t)y * (size_t)p->width + (size_t)x) * 3;
}

static picture load(const char *path)
{
    struct jpeg_decompress_struct in;
    struct jpeg_error_mgr errors;
    picture p;
    FILE *file = fopen(path, "rb");
    if (!file)
        give_up("cannot be read", path);
    in.err = jpeg_std_error(&errors); /* ends the program on any error */
    jpeg_create_decompress(&in);
    jpeg_stdio_src(&in, file);
    jpeg_read_header(&in, TRUE);
    in.out_color_space = JCS_RGB;
    jpeg_start_decompress(&in);
    p.width = (int)in.output_width;
    p.height = (int)in.output_height;
    p.rgb = room((size_t)p.width * (size_t)p.height * 3);
    while (in.output_scanline < in.output_height) {
        JSAMPROW row = at(&p, 0, (int)in.output_scanline);
        jpeg_read_scanlines(&in, &row, 1);
    }
    jpeg_finish_decompress(&in);
    jpeg_destroy_decompress(&in);
    fclose(file);
    return p;
}

static void save(const char *path, const picture *p)
{
    struct jpeg_compress_struct out;
    struct jpeg_error_mgr errors;
    FILE *file = fopen(path, "wb");
    if (!file)
        give_up("cannot be written", path);
    out.err = jpeg_std_error(&errors);
    jpeg_create_compress(&out);
    jpeg_stdio_dest(&out, file);
    out.image_width = (JDIMENSION)p->width;
    out.image_height = (JDIMENSION)p->height;
    out.input_components = 3;
    out.in_color_space = JCS_RGB;
    jpeg_set_defaults(&out);
    jpeg_set_quality(&out, 92, TRUE);
    jpeg_start_compress(&out, TRUE);
    while (out.next_scanline < out.image_height) {
        JSAMPROW row = at(p, 0, (int)out.next_scanline);
        jpeg_write_scanlines(&out, &row, 1);
    }
    jpeg_finish_compress(&out);
    jpeg_destroy_compress(&out);
    if (fclose(file))
        give_up("cannot be written", path);
}

static void crop(picture *p, const int n[4])
{
    picture out = {n[2], n[3], room((size_t)n[2] * (size_t)n[3] * 3)};
    for (int y = 0; y < n[3]; y++)
        memcpy(at(&out, 0, y), at(p, n[0], n[1] + y), (size_t)n[2] * 3);
    free(p->rgb);
    *p = out;
}

static void cover(picture *p, const int n[4])
{
    unsigned char colour[3];
    memcpy(colour, at(p, n[0] - 1, n[1] - 1), 3);
    for (int y = n[1]; y < n[1] + n[3]; y++)
        for (int x = n[0]; x < n[0] + n[2]; x++)
            memcpy(at(p, x, y), colour, 3);
}

/* Running mean along `length` pixels `step` bytes apart. */
static void box(unsigned char *first, int length, size_t step, int radius, unsigned char *copy)
{
    long sum = 0;
    for (int i = 0; i < length; i++)
        copy[i] = first[(size_t)i * step];
    for (int i = -radius; i <= radius; i++)
        sum += copy[i < 0 ? 0 : i >= length ? length - 1 : i];
    for (int i = 0; i < length; i++) {
        first[(size_t)i * step] = (unsigned char)((sum + radius) / (2 * radius + 1));
        int in = i + radius + 1, gone = i - radius;
        sum += copy[in >= length ? length - 1 : in] - copy[gone < 0 ? 0 : gone];
    }
}

static void blur(picture *p, int radius)
{
    unsigned char *copy = room((size_t)(p->width + p->height));
    for (int round = 0; round < 3; round++)
        for (int c = 0; c < 3; c++) {
            for (int y = 0; y < p->height; y++)
                box(at(p, 0, y) + c, p->width, 3, radius, copy);
            for (int x = 0; x < p->width; x++)
                box(at(p, x, 0) + c, p->height, (size_t)p->width * 3, radius, copy);
        }
    free(copy);
}

static void shrink(picture *p, int n)
{
    picture out = {p->width / n, p->height / n, room((size_t)(p->width / n) * (size_t)(p->height / n) * 3)};
    for (int y = 0; y < out.height; y++)
        for (int x = 0; x < out.width; x++)
            for (int c = 0; c < 3; c++) {
                long sum = 0;
                for (int k = 0; k < n * n; k++)
                    sum += at(p, x * n + k % n, y * n + k / n)[c];
                at(&out, x, y)[c] = (unsigned char)(sum / (n * n));
            }
    free(p->rgb);
    *p = out;
}

/* Rewrites the size in the frame header, marker FF C0 to FF C2 (ITU-T T.81, B.2.2), of a file without a thumbnail. */
static void claim(const char *in, const char *out, int width, int height)
{
    FILE *from = fopen(in, "rb"), *to = fopen(out, "wb");
    static unsigned char data[1 << 23];
    if (!from || !to)
        give_up("cannot be opened", from ? out : in);
    size_t size = fread(data, 1, sizeof data, from);
    for (size_t i = 2; i + 9 < size; i += 2 + (size_t)(data[i + 2] * 256 + data[i + 3]))
        if (data[i + 1] >= 0xC0 && data[i + 1] <= 0xC2) {
            const unsigned char sides[] = {(unsigned char)(height >> 8), (unsigned char)height,
                                           (unsigned char)(width >> 8), (unsigned char)width};
            memcpy(data + i + 5, sides, 4);
            break;
        }
    if (fwrite(data, 1, size, to) != size || fclose(to))
        give_up("cannot be written", out);
    fclose(from);
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        int numbers;
    } ways[] = {{"crop", 4}, {"cover", 4}, {"blur", 1}, {"shrink", 1}, {"claim", 2}};
    if (argc < 5)
        give_up("IN OUT WHAT NUMBER...", "usage");
    if (strcmp(argv[3], "claim") == 0 && argc == 6) {
        claim(argv[1], argv[2], atoi(argv[4]), atoi(argv[5]));
        return 0;
    }
    picture p = load(argv[1]);
    for (int i = 3; i < argc;) {
        int n[4] = {0}, way = 0;
        while (way < 4 && strcmp(argv[i], ways[way].name) != 0)
            way++;
        if (way == 4 || i + ways[way].numbers >= argc)
            give_up("not understood", argv[i]);
        for (int k = 0; k < ways[way].numbers; k++)
            n[k] = atoi(argv[i + 1 + k]);
        if (way < 2 &&
            (n[0] < way || n[1] < way || n[2] < 1 || n[3] < 1 || n[0] + n[2] > p.width || n[1] + n[3] > p.height))
            give_up("lies outside the picture", argv[i]);
        if (way >= 2 && n[0] < 1)
            give_up("needs a number above 0", argv[i]);
        if (way == 0)
            crop(&p, n);
        else if (way == 1)
            cover(&p, n);
        else if (way == 2)
            blur(&p, n[0]);
        else
            shrink(&p, n[0]);
        i += 1 + ways[way].numbers;
    }
    save(argv[2], &p);
    free(p.rgb);
    return 0;
}
