/* Coprocessor arithmetic: elimination on a matrix of 96 by 96 doubles and a transform of 2,048 complex points.
 * One unit is one of each. */
#include <math.h>
#include "kit.h"
#define N 96
#define POINTS 2048
const char *kit_name = "matrix";
static double given[N][N], a[N][N], b[N], re[POINTS], im[POINTS], wave[POINTS];
static uint32_t seed = 3;

void kit_setup(void)
{
    for (int i = 0; i < N; i++)
        for (int j = 0; j < N; j++) given[i][j] = (double)(kit_random(&seed) % 1000) / 500.0 - 1.0 + (i == j ? 8.0 : 0.0);
    for (int i = 0; i < POINTS; i++) wave[i] = sin(6.283185307179586 * i / POINTS);
}

uint32_t kit_unit(int n)
{
    for (int i = 0; i < N; i++) {
        for (int j = 0; j < N; j++) a[i][j] = given[i][j];
        b[i] = 1.0 + i + n;
    }
    for (int k = 0; k < N; k++)
        for (int i = k + 1; i < N; i++) {
            double f = a[i][k] / a[k][k];
            for (int j = k; j < N; j++) a[i][j] -= f * a[k][j];
            b[i] -= f * b[k];
        }
    for (int i = N - 1; i >= 0; i--) {
        double s = b[i];
        for (int j = i + 1; j < N; j++) s -= a[i][j] * b[j];
        b[i] = s / a[i][i];
    }
    for (int i = 0; i < POINTS; i++) {
        int r = 0;
        for (int bit = 0; bit < 11; bit++) r |= ((i >> bit) & 1) << (10 - bit);
        re[r] = b[i % N];
        im[r] = 0.0;
    }
    for (int half = 1; half < POINTS; half *= 2)
        for (int start = 0; start < POINTS; start += 2 * half)
            for (int k = 0; k < half; k++) {
                int at = k * (POINTS / (2 * half));
                double c = wave[(at + POINTS / 4) % POINTS], s = -wave[at];
                double x = re[start + k + half] * c - im[start + k + half] * s, y = re[start + k + half] * s + im[start + k + half] * c;
                re[start + k + half] = re[start + k] - x;
                im[start + k + half] = im[start + k] - y;
                re[start + k] += x;
                im[start + k] += y;
            }
    return (uint32_t)(fabs(re[1]) * 16.0) + (uint32_t)(fabs(b[3]) * 1024.0);
}
