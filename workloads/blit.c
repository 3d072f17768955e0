/* Copying and drawing blocks: pictures with a see-through colour onto a buffer of 640 by 240, scrolling it by copying.
 * One unit is 120 pictures, one scroll by 8 lines and one block copy of 96 KB. */
#include "kit.h"
#define W 640
#define H 240
#define PICTURES 20
const char *kit_name = "blit";
static uint8_t buffer[W * H], picture[PICTURES][64 * 64];
static uint32_t block[24576], copy[24576], seed = 5;

void kit_setup(void)
{
    for (int p = 0; p < PICTURES; p++)
        for (int i = 0; i < 64 * 64; i++)
            picture[p][i] = kit_random(&seed) % 3 ? (uint8_t)(1 + kit_random(&seed) % 255) : 0;
    for (int i = 0; i < 24576; i++) block[i] = kit_random(&seed);
}

uint32_t kit_unit(int n)
{
    uint32_t sum = 0;
    for (int i = 0; i < 120; i++) {
        const uint8_t *from = picture[kit_random(&seed) % PICTURES];
        int x = (int)(kit_random(&seed) % (W - 64)), y = (int)(kit_random(&seed) % (H - 64));
        int solid = i % 3 == 0;
        for (int row = 0; row < 48; row++) {
            uint8_t *to = buffer + (y + row) * W + x;
            if (solid)
                for (int k = 0; k < 16; k++) ((uint32_t *)(void *)(buffer + (y + row) * W + (x & ~3)))[k] = ((const uint32_t *)(const void *)from)[k];
            else
                for (int k = 0; k < 64; k++)
                    if (from[k]) to[k] = from[k];
            from += 64;
        }
    }
    for (int i = 0; i < W * (H - 8) / 4; i++) ((uint32_t *)buffer)[i] = ((uint32_t *)buffer)[i + W * 8 / 4];
    for (int i = 0; i < 24576; i++) copy[i] = block[i];
    for (int i = 0; i < 24576; i += 64) sum += copy[i];
    for (int i = 0; i < W * H / 4; i += 16) { kit_show(((uint32_t *)buffer)[i]); sum = sum * 3u + ((uint32_t *)buffer)[i]; }
    return sum + (uint32_t)n;
}
