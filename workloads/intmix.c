/* Whole numbers and pointers: a hash table of records in chains, a sort, a tree walk. Links are 32-bit indices,
 * as pointers of the period were. One unit is 6,000 look-ups, a sort of 4,000 keys and 3,000 tree steps. */
#include "kit.h"
#define RECORDS 6000
#define BUCKETS 2048
#define KEYS 4000
const char *kit_name = "intmix";
struct record { uint32_t key, next, left, right, count; char name[12]; };
static struct record records[RECORDS];
static uint32_t bucket[BUCKETS], keys[KEYS], work[KEYS], root, seed = 11;

static uint32_t hash(uint32_t k) { return (k * 2654435761u) >> 21; }

void kit_setup(void)
{
    for (uint32_t i = 1; i < RECORDS; i++) {
        struct record *r = &records[i];
        r->key = kit_random(&seed);
        r->next = bucket[hash(r->key)];
        bucket[hash(r->key)] = i;
        for (int c = 0; c < 12; c++) r->name[c] = (char)('a' + kit_random(&seed) % 26);
        uint32_t *link = &root;
        while (*link) link = r->key < records[*link].key ? &records[*link].left : &records[*link].right;
        *link = i;
    }
}

static uint32_t find(uint32_t key)
{
    for (uint32_t i = bucket[hash(key)]; i; i = records[i].next)
        if (records[i].key == key) return i;
    return 0;
}

uint32_t kit_unit(int n)
{
    uint32_t sum = (uint32_t)n;
    for (int i = 0; i < 6000; i++) {
        uint32_t draw = kit_random(&seed);
        uint32_t want = draw % 4 ? draw / 4 % (RECORDS / 8) : draw / 4 % RECORDS; /* most on one eighth */
        uint32_t at = find(records[want].key + (draw & 1 ? 0 : (draw >> 3) % 3));
        if (at) {
            records[at].count++;
            for (int c = 0; c < 12 && records[at].name[c] != 'q'; c++) sum += (uint8_t)records[at].name[c];
        }
    }
    for (int i = 0; i < KEYS; i++) keys[i] = kit_random(&seed);
    uint32_t *from = keys, *to = work;
    for (int width = 1; width < KEYS; width *= 2) {
        for (int lo = 0; lo < KEYS; lo += 2 * width) {
            int mid = lo + width < KEYS ? lo + width : KEYS, hi = lo + 2 * width < KEYS ? lo + 2 * width : KEYS;
            int a = lo, b = mid;
            for (int k = lo; k < hi; k++) to[k] = (a < mid && (b >= hi || from[a] <= from[b])) ? from[a++] : from[b++];
        }
        uint32_t *swap = from; from = to; to = swap;
    }
    sum += from[KEYS / 2];
    for (int i = 0; i < 3000; i++) {
        uint32_t want = kit_random(&seed), at = root, steps = 0;
        while (at && records[at].key != want) { at = want < records[at].key ? records[at].left : records[at].right; steps++; }
        sum += steps;
    }
    return sum;
}
