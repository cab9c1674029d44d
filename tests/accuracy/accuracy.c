/* Published observations beside the model's 90 % range, as the table of README.md.
 *
 * No row of the first table was used to choose a default, and none may be: an observation that
 * moves a number goes to the second.  Agreement in size is told, not asserted; the laws that must
 * hold whatever the numbers are asserted in tests/test_accuracy_laws.c. */
#include "tests/accuracy/table.h"

#include <stdio.h>

static void print_head(const char *first)
{
    printf(
        "| %s | measured | model: median and 90 %% range; climate | verdict |\n|---|---|---|---|\n",
        first);
}

int main(void)
{
    struct acc_table table = {0};
    print_head("what was measured, and by whom");
    acc_loss_rows(&table);
    acc_strength_rows(&table);
    acc_region_rows(&table);
    acc_oak_rows(&table);
    acc_ester_rows(&table);
    printf("\n");
    acc_print_tally(&table);
    printf("\n");
    print_head("used to choose the defaults, so no check");
    acc_used_rows(&table);
    printf("\nClimates, mean and yearly wave, humidity: ");
    acc_print_climates(&table);
    return 0;
}
