/* Own stubs for the compiler's memory access hooks (-fsanitize=thread): each access becomes 8 bytes in the file
 * named by KIT_TRACE: address in bits 0-47, bytes in bits 48-55, kind in bits 56-63 (0 load, 1 store,
 * 255 mark: a unit of work begins). Nothing before the first mark is written, so setting up is left out. */
#include <stdio.h>
#include <stdlib.h>
#include "kit.h"

#define ROOM 65536
static uint64_t buffer[ROOM];
static unsigned used;
static FILE *out;
static int open_for_work;
static volatile uint32_t display;

static void flush(void)
{
    if (used && fwrite(buffer, 8, used, out) != used) {
        perror("KIT_TRACE");
        exit(1);
    }
    used = 0;
}

static inline void put(const volatile void *p, uint64_t bytes, uint64_t kind)
{
    if (!open_for_work)
        return;
    buffer[used++] = ((uint64_t)(uintptr_t)p & 0xffffffffffffull) | bytes << 48 | kind << 56;
    if (used == ROOM)
        flush();
}

void kit_mark(int n)
{
    if (!out) {
        const char *path = getenv("KIT_TRACE");
        if (!path || !(out = fopen(path, "wb"))) {
            fprintf(stderr, "set KIT_TRACE to the file to write\n");
            exit(1);
        }
        open_for_work = 1;
    }
    put((void *)(uintptr_t)n, 0, 255);
}

void kit_end(void)
{
    flush();
    open_for_work = 0;
    fclose(out);
}

void kit_show(uint32_t word) { display = word; }

#define HOOKS(N) \
    void __tsan_read##N(void *p) { put(p, N, 0); } \
    void __tsan_write##N(void *p) { put(p, N, 1); } \
    void __tsan_unaligned_read##N(void *p) { put(p, N, 0); } \
    void __tsan_unaligned_write##N(void *p) { put(p, N, 1); } \
    void __tsan_volatile_read##N(void *p) { put(p, N, 0); } \
    void __tsan_volatile_write##N(void *p) { put(p, N, 1); }
HOOKS(1) HOOKS(2) HOOKS(4) HOOKS(8) HOOKS(16)

void __tsan_init(void) {}
void __tsan_func_entry(void *p) { (void)p; }
void __tsan_func_exit(void) {}
static void range(char *p, unsigned long n, int kind)
{
    for (; n >= 4; n -= 4, p += 4)
        put(p, 4, kind);
    for (; n; n--, p++)
        put(p, 1, kind);
}
void __tsan_read_range(void *p, unsigned long n) { range(p, n, 0); }
void __tsan_write_range(void *p, unsigned long n) { range(p, n, 1); }
