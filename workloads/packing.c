/* Table-driven packing in memory: matches by hash chains in a window of 32 KB, then code lengths by count.
 * One unit packs 64 KB of made-up text. */
#include "kit.h"
#define LENGTH 65536
#define WINDOW 32768
const char *kit_name = "packing";
static uint8_t text[LENGTH + 256], packed[LENGTH * 2];
static uint16_t head[8192], chain[WINDOW], count[512];
static uint32_t seed = 23;

void kit_setup(void)
{
    static uint8_t words[512][12];
    for (int w = 0; w < 512; w++)
        for (int i = 0; i < 12; i++) words[w][i] = (uint8_t)('a' + kit_random(&seed) % 20);
    uint32_t at = 0;
    while (at < LENGTH) {
        uint32_t draw = kit_random(&seed), w = draw % 4 ? draw % 64 : draw % 512, n = 2 + (w * 7) % 10;
        for (uint32_t i = 0; i < n; i++) text[at + i] = words[w][i];
        text[at + n] = ' ';
        at += n + 1;
    }
}

uint32_t kit_unit(int n)
{
    uint32_t out = 0, sum = 0;
    for (int i = 0; i < 8192; i++) head[i] = 0xffff;
    for (int i = 0; i < 512; i++) count[i] = 0;
    for (int i = 0; i < 40; i++) text[kit_random(&seed) % LENGTH] = (uint8_t)('a' + (n + i) % 20);
    for (uint32_t at = 0; at < LENGTH - 64;) {
        uint32_t h = ((uint32_t)text[at] << 10 ^ (uint32_t)text[at + 1] << 5 ^ text[at + 2]) & 8191, best = 0, where = 0;
        uint32_t candidate = head[h];
        for (int tries = 0; tries < 12 && candidate != 0xffff; tries++) {
            uint32_t back = (at - candidate) & 0xffff;
            if (!back || back >= WINDOW) break;
            const uint8_t *a = text + at, *b = text + at - back;
            uint32_t len = 0;
            while (len < 64 && a[len] == b[len]) len++;
            if (len > best) { best = len; where = back; }
            candidate = chain[candidate % WINDOW];
        }
        uint32_t steps = 1;
        if (best > 2) {
            packed[out++] = (uint8_t)(best + 160);
            packed[out++] = (uint8_t)where;
            packed[out++] = (uint8_t)(where >> 8);
            count[256 + best]++;
            steps = best;
        } else {
            packed[out++] = text[at];
            count[text[at]]++;
        }
        chain[at % WINDOW] = head[h];
        head[h] = (uint16_t)at;
        at += steps;
    }
    for (int i = 0; i < 512; i++) sum = sum * 3u + count[i];
    return sum + out;
}
