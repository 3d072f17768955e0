/* Textured software renderer: spans of a room's walls and floor, depth buffer of 16 bits, 320 by 200 by 8 bits.
 * One unit is one frame, copied to the display at its end. The scene is invented. */
#include <math.h>
#include "kit.h"
#define W 320
#define H 200
#define TEXTURES 24
#define SIDE 64
const char *kit_name = "render";
static uint8_t frame[W * H];
static uint16_t depth[W * H];
static uint8_t texture[TEXTURES][SIDE * SIDE * 4 / 3 + 8];
static uint8_t shade[32][256];
struct vertex { float x, y, z, u, v; };
struct face { uint16_t corner[4]; uint16_t skin; uint16_t light; };
#define CORNERS 1200
#define FACES 560
static struct vertex model[CORNERS], seen[CORNERS];
static struct face faces[FACES];
static uint32_t seed = 7;

void kit_setup(void)
{
    for (int t = 0; t < TEXTURES; t++)
        for (unsigned i = 0; i < sizeof texture[t]; i++)
            texture[t][i] = (uint8_t)kit_random(&seed);
    for (int l = 0; l < 32; l++)
        for (int c = 0; c < 256; c++)
            shade[l][c] = (uint8_t)(c * (l + 1) / 32);
    for (int i = 0; i < FACES; i++) {
        float cx = (float)(kit_random(&seed) % 2000) / 100.f - 10.f, cy = (float)(kit_random(&seed) % 800) / 100.f - 4.f;
        float cz = (float)(kit_random(&seed) % 2600) / 100.f + 3.f, size = 0.4f + (float)(kit_random(&seed) % 100) / 60.f;
        int flat = i & 1;
        for (int k = 0; k < 4; k++) {
            int right = k == 1 || k == 2, low = k >= 2;
            struct vertex *v = &model[(i * 2 + k) % CORNERS];
            v->x = cx + (right ? size : -size);
            v->y = cy + (flat ? 0.f : (low ? size : -size));
            v->z = cz + (flat ? (low ? size : -size) : (float)(k & 1) * 0.3f);
            v->u = right ? SIDE - 1 : 0;
            v->v = low ? SIDE - 1 : 0;
            faces[i].corner[k] = (uint16_t)((i * 2 + k) % CORNERS);
        }
        faces[i].skin = (uint16_t)(kit_random(&seed) % TEXTURES);
        faces[i].light = (uint16_t)(8 + kit_random(&seed) % 24);
    }
}

static void span(int y, float x0, float x1, float z0, float z1, float u0, float u1, float v0, float v1,
                 const uint8_t *skin, const uint8_t *light)
{
    int a = (int)ceilf(x0), b = (int)ceilf(x1);
    if (b > W) b = W;
    if (b <= a || x1 - x0 < 0.5f) return;
    float inv = 1.f / (x1 - x0), skip = (float)a - x0;
    if (a < 0) { skip -= (float)a; a = 0; }
    int32_t z = (int32_t)((z0 + (z1 - z0) * inv * skip) * 65536.f), dz = (int32_t)((z1 - z0) * inv * 65536.f);
    int32_t u = (int32_t)((u0 + (u1 - u0) * inv * skip) * 65536.f), du = (int32_t)((u1 - u0) * inv * 65536.f);
    int32_t v = (int32_t)((v0 + (v1 - v0) * inv * skip) * 65536.f), dv = (int32_t)((v1 - v0) * inv * 65536.f);
    uint8_t *p = frame + y * W + a;
    uint16_t *d = depth + y * W + a;
    for (int x = a; x < b; x++, p++, d++, z += dz, u += du, v += dv) {
        uint16_t near = (uint16_t)(z >> 8);
        if (near > *d) {
            *d = near;
            *p = light[skin[((v >> 16) & (SIDE - 1)) * SIDE + ((u >> 16) & (SIDE - 1))]];
        }
    }
}

static void triangle(const struct vertex *a, const struct vertex *b, const struct vertex *c,
                     const uint8_t *skin, const uint8_t *light)
{
    const struct vertex *t;
    if (b->y < a->y) { t = a; a = b; b = t; }
    if (c->y < a->y) { t = a; a = c; c = t; }
    if (c->y < b->y) { t = b; b = c; c = t; }
    int y0 = (int)ceilf(a->y), y1 = (int)ceilf(c->y);
    if (y0 < 0) y0 = 0;
    if (y1 > H) y1 = H;
    float long_inv = 1.f / (c->y - a->y + 1e-6f), up = 1.f / (b->y - a->y + 1e-6f), down = 1.f / (c->y - b->y + 1e-6f);
    for (int y = y0; y < y1; y++) {
        float s = ((float)y - a->y) * long_inv, r;
        const struct vertex *m, *n;
        if ((float)y < b->y) { m = a; n = b; r = ((float)y - a->y) * up; }
        else { m = b; n = c; r = ((float)y - b->y) * down; }
        float xl = a->x + (c->x - a->x) * s, xr = m->x + (n->x - m->x) * r;
        float zl = a->z + (c->z - a->z) * s, zr = m->z + (n->z - m->z) * r;
        float ul = a->u + (c->u - a->u) * s, ur = m->u + (n->u - m->u) * r;
        float vl = a->v + (c->v - a->v) * s, vr = m->v + (n->v - m->v) * r;
        if (xl <= xr) span(y, xl, xr, zl, zr, ul, ur, vl, vr, skin, light);
        else span(y, xr, xl, zr, zl, ur, ul, vr, vl, skin, light);
    }
}

uint32_t kit_unit(int n)
{
    float turn = (float)n * 0.05f, co = cosf(turn), si = sinf(turn);
    uint32_t sum = 0;
    for (int i = 0; i < W * H / 4; i++) ((uint32_t *)frame)[i] = 0x01010101u * (uint32_t)(i / (W * 20));
    for (int i = 0; i < W * H / 2; i++) ((uint32_t *)depth)[i] = 0;
    for (int i = 0; i < CORNERS; i++) {
        float x = model[i].x * co - (model[i].z - 15.f) * si, z = model[i].x * si + (model[i].z - 15.f) * co + 15.f;
        float inv = z > 0.5f ? 1.f / z : 0.f;
        seen[i].x = 160.f + 160.f * x * inv;
        seen[i].y = 100.f + 160.f * model[i].y * inv;
        seen[i].z = 120.f * inv;
        seen[i].u = model[i].u;
        seen[i].v = model[i].v;
    }
    for (int i = 0; i < FACES; i++) {
        const struct face *f = &faces[i];
        const struct vertex *a = &seen[f->corner[0]], *b = &seen[f->corner[1]], *c = &seen[f->corner[2]], *d = &seen[f->corner[3]];
        if (a->z <= 0.f || b->z <= 0.f || c->z <= 0.f || d->z <= 0.f) continue;
        if (a->x < -400.f || a->x > 720.f || c->x < -400.f || c->x > 720.f) continue;
        triangle(a, b, c, texture[f->skin], shade[f->light]);
        triangle(a, c, d, texture[f->skin], shade[f->light]);
    }
    for (int i = 0; i < W * H / 4; i++) {
        uint32_t word = ((uint32_t *)frame)[i];
        kit_show(word);
        sum = sum * 3u + word;
    }
    return sum;
}
