/* Own workload kit: what every workload gives and gets. */
#ifndef KIT_H
#define KIT_H
#include <stdint.h>

extern const char *kit_name;
void kit_setup(void);      /* once, before the first unit */
uint32_t kit_unit(int n);  /* one unit of work; returns a check sum, the same on every machine */

/* Repeatable pseudo-random numbers: a 32-bit linear congruential generator. */
static inline uint32_t kit_random(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

/* Stores to the display are a term of their own in the forecast, so they are not traced. */
#ifdef KIT_TRACED
#define KIT_UNTRACED __attribute__((no_sanitize("thread"), noinline))
#else
#define KIT_UNTRACED __attribute__((noinline))
#endif
void kit_show(uint32_t word);
#endif
