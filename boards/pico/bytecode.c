/*
 * Runs on the computer that builds: compiles a bundle's source with the engine as the chip has it and
 * writes its bytecode. Bytecode has no pointers and one order of bytes, so that a 64-bit computer can
 * make it for the chip. Usage: bytecode SOURCE BYTECODE. Exit code 1, with a sentence, if it cannot.
 */
#include <stdio.h>
#include <stdlib.h>
#include "duktape.h"

static char source[1 << 20];

static int stop(const char *sentence) {
    fprintf(stderr, "%s\n", sentence);
    return 1;
}

int main(int count, char **arguments) {
    if (count != 3) return stop("usage: bytecode SOURCE BYTECODE");
    FILE *in = fopen(arguments[1], "rb");
    if (!in) return stop("the source cannot be read");
    const size_t length = fread(source, 1, sizeof source, in);
    fclose(in);
    duk_context *context = duk_create_heap_default();
    if (!context || length == sizeof source) return stop("the source is too long");
    if (duk_pcompile_lstring(context, 0, source, length)) return stop(duk_safe_to_string(context, -1));
    duk_dump_function(context);
    duk_size_t bytes;
    const void *code = duk_get_buffer(context, -1, &bytes);
    FILE *out = fopen(arguments[2], "wb");
    if (!out || fwrite(code, 1, bytes, out) != bytes || fclose(out)) return stop("no bytecode written");
    return 0;
}
