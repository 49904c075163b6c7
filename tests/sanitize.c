/* For sanitizer builds only, linked into every program that draws text or encodes a photo.
 *
 * fontconfig keeps its rules and patterns to the end of the process and stores addresses in them as offsets, which the
 * leak checker does not follow: it counts them as lost. x265, which only tests use, keeps some memory for itself. Our own
 * blocks have no frame of these libraries, so none is hidden. */
#define SHOWN __attribute__((visibility("default"))) /* to the sanitizers' shared library, which calls these */
SHOWN const char *__lsan_default_suppressions(void);

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\nleak:libx265\n";
}

/* Or the checker lists what it kept quiet about on standard error, where tests want nothing. */
SHOWN const char *__lsan_default_options(void);

const char *__lsan_default_options(void)
{
    return "print_suppressions=0";
}
