/* Runs N units of the linked workload and prints their check sum: NAME [UNITS]. */
#include <stdio.h>
#include <stdlib.h>
#include "kit.h"

void kit_mark(int n);
void kit_end(void);

int main(int argc, char **argv)
{
    int units = argc > 1 ? atoi(argv[1]) : 8;
    uint32_t sum = 0;
    kit_setup();
    for (int n = 0; n < units; n++) {
        kit_mark(n);
        sum = sum * 31u + kit_unit(n);
    }
    kit_end();
    printf("%s %d %08x\n", kit_name, units, (unsigned)sum);
    return 0;
}
