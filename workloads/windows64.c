/* Real-mode-like drawing: everything lies in windows of 64 KB reached by 16-bit offsets, bytes and 16-bit words only.
 * A window of screen, one of height and colour tables, one of pictures. One unit is one frame of 320 by 168. */
#include "kit.h"
const char *kit_name = "windows64";
static uint8_t screen[65536], land[65536], pictures[65536];
static uint16_t slope[320], tall[320], lines[200];
static uint32_t seed = 17;

void kit_setup(void)
{
    for (uint32_t i = 0; i < 65536; i++) {
        pictures[i] = (uint8_t)kit_random(&seed);
        land[i] = (uint8_t)((i >> 8) * 3 ^ (i & 255) * 5);
    }
    for (int i = 0; i < 200; i++) lines[i] = (uint16_t)(i * 320);
    for (int i = 0; i < 320; i++) slope[i] = (uint16_t)((i - 160) * 2);
}

uint32_t kit_unit(int n)
{
    uint32_t sum = 0;
    for (int x = 0; x < 320; x++) { /* columns: a wall, scaled, above a floor */
        uint16_t place = (uint16_t)(n * 512 + x * 37 + slope[x]), far = 1;
        while (far < 40 && (land[place] & 31) != 7) { place = (uint16_t)(place + 257 + (slope[x] >> 5)); far++; }
        tall[x] = (uint16_t)(160 / far + 8);
        uint16_t skin = (uint16_t)(((land[place] & 15) << 12) + ((place & 63) << 6));
        uint16_t step = (uint16_t)(64 * 256 / tall[x]), at = 0;
        int top = 84 - tall[x] / 2;
        for (int y = 0; y < 168; y++) {
            uint16_t to = (uint16_t)(lines[y] + x);
            if (y < top) screen[to] = 3;
            else if (at < 64 * 256) { screen[to] = pictures[(uint16_t)(skin + (at >> 8))]; at = (uint16_t)(at + step); }
            else screen[to] = (uint8_t)(y >> 2);
        }
    }
    for (int thing = 0; thing < 14; thing++) { /* scaled pictures in front, hidden by nearer columns */
        uint16_t from = (uint16_t)(kit_random(&seed) & 0xf000), size = (uint16_t)(16 + kit_random(&seed) % 64);
        uint16_t left = (uint16_t)(kit_random(&seed) % (320 - 80));
        for (uint16_t x = 0; x < size; x++) {
            if (tall[left + x] > size + 40) continue;
            for (uint16_t y = 0; y < size; y++) {
                uint8_t c = pictures[(uint16_t)(from + ((x * 64 / size) << 6) + y * 64 / size)];
                if (c > 100) screen[(uint16_t)(lines[84 + y] + left + x)] = c;
            }
        }
    }
    for (uint16_t i = 0; i < 320 * 168; i += 2) {
        uint16_t word = *(uint16_t *)(void *)(screen + i);
        kit_show(word);
        sum = sum * 3u + word;
    }
    return sum;
}
